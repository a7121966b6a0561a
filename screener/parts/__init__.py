"""Designations, seal sizes, suffix meaning, interchange: what a part is called and what that says. Pure.

The way of a text through the package::

    text            one alphabet, spans kept
    stray, beside   counts, words, standards and sizes written beside the designation are blanked
    basic_scan      the basic number, found in the lattice of `basics` (table rows, and series times bore code)
    tail            what follows, cut into codes of `vocabulary`; `written_bore` takes inch bores out first
    said            what the codes say together: attributes, disputes, contradictions
    bearing         size, codes and defaults put together; `shaft_seal`, `o_ring`, `retaining_ring` beside it
    explaining      which of these it is; `suggesting`, `interstate` where it is not understood

`finding` looks for designations inside lines, `ranking` goes from noisy readings to standing designations, `comparing`
sets need and offer side by side by the rules of ``compare_rules.toml``.
"""

from screener.parts.as_json import explained_as_json
from screener.parts.companions import Companions, companions
from screener.parts.comparing import compare, comparison_as_json
from screener.parts.explaining import explain, explain_column
from screener.parts.finding import find_in_text
from screener.parts.model import Comparison, Difference, Explained, Found, RankedReading
from screener.parts.pointing import point_at
from screener.parts.ranking import rank_readings

__all__ = [
    "Companions",
    "Comparison",
    "Difference",
    "Explained",
    "Found",
    "RankedReading",
    "companions",
    "compare",
    "comparison_as_json",
    "explain",
    "explain_column",
    "explained_as_json",
    "find_in_text",
    "point_at",
    "rank_readings",
]
