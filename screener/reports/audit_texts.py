"""How an audit is done and what it cannot tell, in the words of the report."""

from __future__ import annotations

from screener.audit.batch.capability import FEWEST_UNITS as FEWEST_FOR_CAPABILITY
from screener.audit.batch.clusters import FALSE_SPLITS
from screener.audit.batch.label_colours import LEAST_APART
from screener.audit.batch.outliers import FALSE_SHARE

METHODS = (
    (
        "Each unit was screened by itself first; its answer is in the record under the number given. This report "
        "adds what only shows when units lie side by side."
    ),
    (
        "Spread is Qn and the centre is the median: up to half of the units may be odd without moving them. A "
        "unit's own uncertainty widens its room."
    ),
    (
        "Standing apart is tested for all numbers of all units of a kind at once (Benjamini-Hochberg): on average "
        f"at most {FALSE_SHARE:.0%} of what is named is chance."
    ),
    (
        "Groups are looked for in size and mass, in marks, in labels and in their colours, by a mixture of two "
        "processes against one, then of three against two, and so on; what the fewer give by chance is simulated. A "
        f"batch is split further than it was made in fewer than {FALSE_SPLITS:.0%} of cases."
    ),
    (
        "Colours of a label (printed areas, ink, paper) are balanced on its own white paper, or on the scale card's, "
        f"and told in CIELAB; a difference counts from CIEDE2000 {LEAST_APART} on (judgement). Without white in the "
        "photo none is told. Pictures, pale tints and the carton are not compared."
    ),
    (
        f"Cp and Cpk are given from {FEWEST_FOR_CAPABILITY} units on, with a 95 % interval, and only where the "
        "instrument is fine enough for the tolerance (ISO 22514-2, ISO 22514-7). Single units are decided by ISO "
        "14253-1."
    ),
)
LIMITS = (
    "A sample tells about a lot, not about each unit in it; what was not drawn was not looked at.",
    (
        "A group that differs may have been photographed differently: another lamp, another phone, another day. "
        "The step named with it settles that first."
    ),
    (
        "Two plants of one maker, a new tool or a dealer's mixed shelf also make groups. A group is a question, "
        "not an answer."
    ),
    (
        "A small group of another process, a tenth of sixty units, is found about nine times in ten when it "
        "differs as plainly as another marking method does; smaller differences need more units."
    ),
    "A photo or a caliper tells the size of a part, never that it keeps the tolerance of its class.",
    (
        "The report says what was seen, read and measured; it does not say who made a part, and nobody is accused "
        "of anything."
    ),
)
