"""Is the mark made evenly, as one process makes it. Uneven is a question with many ordinary causes, never a verdict."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import NotChecked
from screener.screening.observed import observed, on_closure

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.screening.model import Attribute, Item, Observation, Surroundings, Weight

USUAL: Mapping[Attribute, float] = {
    "mark_spacing": 0.15,
    "mark_baseline": 0.02,
    "mark_stroke": 0.11,
    "mark_contrast": 0.11,
}
"""Spread between the letters of one mark up to which one process made it: shares of the capitals' height (spacing,
baseline) or of the mean (stroke, contrast). Judgement; 98 of 100 even marks drawn in many typefaces stay below."""
SIGMAS = 1.0
"""Standard uncertainties that a spread must lie above the usual one."""
WAYS_FOR_QUESTION = 2
"""Uneven in so many ways or photos it is asked about; slightly and in one way it is a note: lamps do that."""
FAR = 2.0
"""So many times the usual spread is asked about even if it is seen once."""
_WORDS: Mapping[Attribute, str] = {
    "mark_spacing": "the gaps between letters vary",
    "mark_baseline": "the letters do not stand on one line",
    "mark_stroke": "the strokes are not equally wide",
    "mark_contrast": "the letters are not equally deep or dark",
}
_ORDINARY = "Worn, stamped and old etched marks look so too, and so does uneven light."
_RESTS_ON = "one process makes all letters of a mark alike (common practice)"


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare the spreads within each mark with what one process leaves; a mark nobody could judge is not checked."""
    del surroundings
    by_mark: dict[tuple[str, str], list[Observation]] = defaultdict(list)
    for attribute in USUAL:
        for o in observed(item, attribute, ("marking",)):
            by_mark[o.source.where, o.source.reader].append(o)
    if not by_mark:
        return Checked(gaps=_not_judged(item))
    odd = [o for spreads in by_mark.values() for o in spreads if is_odd(o.attribute, float(o.value), o.u or 0.0)]
    if not odd:
        return Checked(agreed=("The letters of the mark are made evenly.",))
    says = f"The mark {_texts(odd)} is uneven: {_ways(odd)}. {_ORDINARY}"
    return Checked(findings=(suspicious("mark_uneven", says, _RESTS_ON, *odd, weight=_weight(odd)),))


def is_odd(attribute: Attribute, value: float, u: float) -> bool:
    """Whether a spread lies surely above what one process leaves."""
    return value > USUAL[attribute] + SIGMAS * u


def _weight(odd: list[Observation]) -> Weight:
    several = max(len({o.attribute for o in odd}), len({o.source.where for o in odd})) >= WAYS_FOR_QUESTION
    far = any(float(o.value) - (o.u or 0.0) > FAR * USUAL[o.attribute] for o in odd)
    return "question" if several or far else "note"


def _texts(odd: list[Observation]) -> str:
    return ", ".join(dict.fromkeys(f"“{o.source.reader}” ({o.source.where})" for o in odd))


def _ways(odd: list[Observation]) -> str:
    """Each way once, with the largest spread seen."""
    worst: dict[Attribute, Observation] = {}
    for o in odd:
        if o.attribute not in worst or float(o.value) > float(worst[o.attribute].value):
            worst[o.attribute] = o
    return ", ".join(_one_way(name, o) for name, o in worst.items())


def _one_way(name: Attribute, o: Observation) -> str:
    spread, u, usual = (100 * share for share in (float(o.value), o.u or 0.0, USUAL[name]))
    return f"{_WORDS[name]} ({spread:.0f} ± {u:.0f} %, usual up to {usual:.0f} %)"


def _not_judged(item: Item) -> tuple[NotChecked, ...]:
    marks = [o for o in observed(item, "designation", ("marking",)) if not on_closure(o)]
    if not marks:
        return ()
    return (
        NotChecked(
            "mark_quality",
            "how evenly the mark is made could not be judged from these photos.",
            word="evenness of the mark",
            next_step="Photograph the mark closer and sharp, with the lamp from the side.",
        ),
    )
