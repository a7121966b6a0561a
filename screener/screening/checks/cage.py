"""Does the cage seen in an open face suit the one that a designation names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.named_part import as_far_as_it_says
from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.observed import named, observed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.screening.model import Item, Observation, Surroundings

SURE_FROM_P = 0.8
"""A cage seen less surely than this is not held against a designation."""
_MATERIALS: Mapping[str, str] = {
    "polyamide": "polymer",
    "PEEK": "polymer",
    "fabric-reinforced resin": "polymer",
    "machined brass": "brass",
    "pressed brass": "brass",
    "pressed steel": "steel",
    "machined steel": "steel",
}
"""Cage as suffixes.csv words it -> the material that its colour shows. Others (full complement) are not compared."""
_LOOK_ALIKE = frozenset({"polymer", "steel"})
"""Black plastic and steel in shade are not told apart surely enough to hold one against the other."""
_WORDS: Mapping[str, str] = {"polymer": "plastic", "brass": "brass", "steel": "steel"}


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare the cage with each designation that names one; an unmarked cage is the maker's choice."""
    del surroundings
    seen = [o for o in observed(item, "cage", ("face",)) if o.value in _WORDS and (o.p or 0.0) >= SURE_FROM_P]
    wanted = _wanted(item)
    if not seen or wanted is None:
        return Checked()
    where, cage, witnesses = wanted
    for o in seen:
        if o.value != _MATERIALS[cage] and not {str(o.value), _MATERIALS[cage]} <= _LOOK_ALIKE:
            says = (
                f"The {named(o)} shows a {_WORDS[str(o.value)]} cage; {where} says {cage}. "
                "Grease and shade can colour a cage in a photo."
            )
            return Checked((suspicious("cage_differs", says, "cage suffix (suffixes.csv)", o, *witnesses),))
    return Checked(agreed=(f"The {named(seen[0])} shows a {_WORDS[str(seen[0].value)]} cage, as {where} says.",))


def _wanted(item: Item) -> tuple[str, str, tuple[Observation, ...]] | None:
    """Who names a cage, and which: the order first, then what was read."""
    ordered = item.requirement.explained.cage
    if ordered in _MATERIALS:
        return f"the order ({item.requirement.need})", str(ordered), ()
    for o in observed(item, "designation"):
        cage = as_far_as_it_says(o).cage
        if cage in _MATERIALS:
            return f"the {named(o)} ({o.value})", str(cage), (o,)
    return None
