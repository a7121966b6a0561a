"""Is it what was asked for, by name: every designation read, against the order line."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.parts import compare, explain
from screener.screening.checks.outcome import Checked, together
from screener.screening.model import Finding
from screener.screening.observed import certain, named, observed, on_closure

if TYPE_CHECKING:
    from screener.parts.model import Difference, Explained
    from screener.screening.model import Item, Observation, Surroundings

SIZE_ATTRIBUTES = frozenset(
    {"bore", "outside diameter", "width", "shaft", "housing bore", "inside diameter", "section"}
)
_CODE_OF_WRONG = {
    **dict.fromkeys(SIZE_ATTRIBUTES, "size_not_as_ordered"),
    "kind": "kind_not_as_ordered",
    "closure": "closure_not_as_ordered",
    "closed sides": "closure_not_as_ordered",
    "material": "material_not_as_ordered",
    "elastomer": "material_not_as_ordered",
}
_ORDERED_MEANS_ORDERED = frozenset({"elastomer"})
"""Where another value might serve but an order that names one is not met by it: the mechanic may still ask for it."""
_SILENCE = frozenset({"", "not stated", "open", "CN", "Normal", "0", "no", "plain"})
"""What `compare` shows for an attribute that a designation does not mention."""


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare each designation that was read with the need, in the order's duty."""
    del surroundings
    need = item.requirement.explained
    if not need.understood:
        return Checked(findings=(_need_not_understood(item),))
    return together(_check_one(item, o) for o in observed(item, "designation"))


def as_far_as_it_says(observation: Observation) -> Explained:
    """The designation an observation carries."""
    return explain(str(observation.value))


def says_nothing(observation: Observation, difference: Difference, shown: str) -> bool:
    """Whether an observation is silent on an attribute, of which `compare` shows ``shown``.

    A mark read from steel may be a part of the whole (a short mark, a piece the reader missed): a missing suffix there
    is silence. On a label or in a barcode the same missing suffix says "open" and "normal clearance". Text on a closure
    says nothing of closure and clearance: sister types share closures.
    """
    if observation.source.channel != "marking" or difference.attribute in SIZE_ATTRIBUTES:
        return False
    shared = on_closure(observation) and difference.attribute in {"closure", "closed sides", "clearance"}
    return shared or shown in _SILENCE


def _check_one(item: Item, observation: Observation) -> Checked:
    requirement, offered = item.requirement, as_far_as_it_says(observation)
    if not offered.understood:
        return _offer_not_understood(observation)
    comparison = compare(requirement.explained, offered, duty=requirement.duty)
    told = [
        d
        for d in comparison.differences
        if d.outcome not in {"same", "suits"} and not says_nothing(observation, d, d.offered)
    ]
    if not told:
        silent = any(d.outcome not in {"same", "suits"} for d in comparison.differences)
        how = "which agrees as far as it goes" if silent else "as it should"
        return Checked(agreed=(f"The {named(observation)} reads {observation.value}, {how}.",))
    worst = _only_the_size(told)
    return Checked(findings=tuple(_finding(item, observation, d) for d in worst))


def _only_the_size(differences: list[Difference]) -> list[Difference]:
    """Keep one finding for a wrong size: bore, outside diameter and width follow from each other."""
    sizes = [d for d in differences if _CODE_OF_WRONG.get(d.attribute) == "size_not_as_ordered"]
    if not sizes:
        return differences
    return [sizes[0], *(d for d in differences if d not in sizes)]


def _finding(item: Item, observation: Observation, difference: Difference) -> Finding:
    says = (
        f"The {named(observation)} reads {observation.value}; {item.requirement.need} is needed: {difference.because}"
    )
    base = Finding(
        code="needs_review",
        weight="question",
        question="asked_for",
        says=says,
        rests_on=difference.rests_on,
        observations=(observation.key,),
    )
    differs = difference.attribute in _ORDERED_MEANS_ORDERED and difference.offered not in _SILENCE
    if difference.outcome != "wrong" and not differs:
        return base
    if not certain(observation, item) or on_closure(observation):
        return replace(base, code="reading_unsure")
    code = _CODE_OF_WRONG.get(difference.attribute, "variant_not_as_ordered")
    return replace(base, code=code, weight="contradiction")


def _need_not_understood(item: Item) -> Finding:
    need = item.requirement.explained
    hint = f" Did you mean {', '.join(need.suggestions)}?" if need.suggestions else ""
    return Finding(
        code="need_not_understood",
        weight="question",
        question="asked_for",
        says=f"What is needed, “{item.requirement.need}”, is not understood.{hint}",
        rests_on="reference_specs: no designation or size reads like this",
    )


def _offer_not_understood(observation: Observation) -> Checked:
    if observation.source.channel not in {"label", "person"}:
        return Checked()
    finding = Finding(
        code="offer_not_understood",
        weight="question",
        question="asked_for",
        says=f"The {named(observation)} reads “{observation.value}”, which is not understood.",
        rests_on="reference_specs: no designation or size reads like this",
        observations=(observation.key,),
    )
    return Checked(findings=(finding,))
