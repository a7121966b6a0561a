"""Do the sources agree with each other: box with box, box with steel, mark with what the photo shows."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from screener.parts import compare
from screener.screening.checks.named_part import as_far_as_it_says, says_nothing
from screener.screening.checks.outcome import Checked
from screener.screening.model import BOX_CHANNELS, Finding
from screener.screening.observed import named, observed, on_closure
from screener.specs.screening_rules import finding_kinds

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.screening.model import Channel, Item, Observation, Surroundings, Weight

_SOURCES: tuple[Channel, ...] = ("barcode", "label", "marking")


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare designations, batches and quantities source by source."""
    del surroundings
    findings = [*_designations(item), *_batches(item), *_quantities(item)]
    return Checked(findings=tuple(findings), agreed=_agreement(item, findings))


def _designations(item: Item) -> list[Finding]:
    sources = [o for o in observed(item, "designation", _SOURCES) if as_far_as_it_says(o).understood]
    pairs = combinations(_one_per_value_and_channel(sources), 2)
    return [f for one, other in pairs if (f := _disagreement(one, other)) is not None]


def _one_per_value_and_channel(observations: Iterable[Observation]) -> list[Observation]:
    """Two photos of one label are one source: keep the surest of each channel and reading."""
    kept: dict[tuple[str, str], Observation] = {}
    for o in sorted(observations, key=lambda o: o.p if o.p is not None else 1.0, reverse=True):
        kept.setdefault((o.source.channel, str(o.value)), o)
    return sorted(kept.values(), key=lambda o: o.key)


def _disagreement(one: Observation, other: Observation) -> Finding | None:
    left, right = as_far_as_it_says(one), as_far_as_it_says(other)
    told = [
        d
        for d in compare(left, right).differences
        if d.outcome not in {"same", "suits"}
        and not says_nothing(one, d, d.need)
        and not says_nothing(other, d, d.offered)
    ]
    if not told:
        return None
    code, weight = _what_it_means(one, other)
    return Finding(
        code=code,
        weight=weight,
        question="agreement",
        says=f"The {named(one)} reads {one.value}, the {named(other)} reads {other.value}: {told[0].because}",
        rests_on=told[0].rests_on,
        observations=(one.key, other.key),
        indicator=None if weight == "note" else finding_kinds()[code].indicator,
    )


def _what_it_means(one: Observation, other: Observation) -> tuple[str, Weight]:
    channels = {one.source.channel, other.source.channel}
    if on_closure(one) or on_closure(other):
        return "closure_text_differs", "note"
    if channels == {"barcode", "label"}:
        return "code_and_label_disagree", "question"
    if channels & BOX_CHANNELS and "marking" in channels:
        return "box_and_part_disagree", "question"
    return "sources_disagree", "question"


def _batches(item: Item) -> list[Finding]:
    """The same batch written twice on one box must read the same; box and part may follow different schemes."""
    batches = observed(item, "batch", BOX_CHANNELS)
    by_value = {str(o.value).upper(): o for o in batches}
    if len({o.source.channel for o in batches}) < 2 or len(by_value) < 2:
        return []
    first, second = list(by_value.values())[:2]
    return [
        Finding(
            code="sources_disagree",
            weight="question",
            question="agreement",
            says=f"The {named(first)} gives batch {first.value}, the {named(second)} gives {second.value}.",
            rests_on="one box carries one batch (common practice)",
            observations=(first.key, second.key),
        )
    ]


def _quantities(item: Item) -> list[Finding]:
    ordered = item.requirement.quantity
    stated = observed(item, "quantity", BOX_CHANNELS)
    differing = {float(o.value): o for o in stated if ordered is not None and float(o.value) != ordered}
    return [
        Finding(
            code="quantity_differs",
            weight="note",
            question="agreement",
            says=f"The {named(o)} states {value:g} pieces; the order line asks for {ordered}.",
            rests_on="order line",
            observations=(o.key,),
        )
        for value, o in differing.items()
    ]


def _agreement(item: Item, findings: list[Finding]) -> tuple[str, ...]:
    if any(f.code != "quantity_differs" for f in findings):
        return ()
    channels = {o.source.channel for o in observed(item, "designation", _SOURCES) if as_far_as_it_says(o).understood}
    if len(channels) < 2:
        return ()
    words = {"barcode": "barcode", "label": "label", "marking": "mark on the part"}
    return (f"{' and '.join(words[c] for c in _SOURCES if c in channels).capitalize()} agree.",)
