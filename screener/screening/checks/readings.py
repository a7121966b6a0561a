"""Readings with instruments against the ordered size: the decisions are those of `screener.metrology`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from screener.metrology.bearing import measure_bearing
from screener.metrology.mass import mass_agreement
from screener.metrology.reading import MassReading, Reading
from screener.metrology.seal import measure_seal
from screener.parts import explain
from screener.screening.checks.outcome import Checked, suspicious, together
from screener.screening.model import Finding
from screener.screening.observed import certain, observed
from screener.specs.boundary import boundary
from screener.specs.seals import SealSizeRow

if TYPE_CHECKING:
    from screener.metrology.characteristic import Decision
    from screener.parts.model import Explained
    from screener.screening.model import Attribute, Item, Surroundings

_ATTRIBUTE: dict[str, Attribute] = {
    "bore": "bore_mm",
    "outside diameter": "od_mm",
    "free outside diameter": "od_mm",
    "width": "width_mm",
}


@dataclass(frozen=True, slots=True)
class _Lengths:
    bore: tuple[Reading, ...]
    od: tuple[Reading, ...]
    width: tuple[Reading, ...]


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Decide every reading of bore, outside diameter, width and mass against the need."""
    del surroundings
    need = item.requirement.explained
    if not need.understood or need.basic is None:
        return Checked()
    decisions = _decisions(item, need)
    alone = sum(d.size == "differs" for d in decisions) == 1
    return together([*(_told(item, d, alone=alone) for d in decisions), _mass(item, need)])


def _decisions(item: Item, need: Explained) -> tuple[Decision, ...]:
    lengths = _Lengths(_readings(item, "bore_mm"), _readings(item, "od_mm"), _readings(item, "width_mm"))
    if need.kind == "shaft_seal" and need.bore_mm and need.od_mm and need.width_mm and (lengths.od or lengths.width):
        row = SealSizeRow(need.bore_mm, need.od_mm, need.width_mm, "order line")
        return measure_seal(row, od=lengths.od, width=lengths.width).decisions
    row_of_table = boundary(need.basic or "")
    if row_of_table is None or not (lengths.bore or lengths.od or lengths.width):
        return ()
    closure_kind = need.closure.kind if need.closure is not None else None
    return measure_bearing(
        row_of_table,
        bore=lengths.bore,
        od=lengths.od,
        width=lengths.width,
        accuracy=need.accuracy or "Normal",
        closure_kind=closure_kind,
        tapered_bore=need.tapered_bore is not None,
    ).decisions


def _readings(item: Item, attribute: Attribute) -> tuple[Reading, ...]:
    return tuple(
        Reading(float(o.value), o.source.where, o.temperature_c) for o in observed(item, attribute, ("instrument",))
    )


def _told(item: Item, decision: Decision, *, alone: bool) -> Checked:
    keys = tuple(o.key for o in observed(item, _ATTRIBUTE[decision.characteristic], ("instrument",)))
    if decision.size == "differs":
        if alone and _rest_of_the_steel_agrees(item):
            odd = _finding("reading_against_the_rest", decision, keys)
            return Checked(findings=(replace(odd, weight="question", question="agreement"),))
        return Checked(findings=(_finding("measured_size_differs", decision, keys),))
    if decision.verdict == "does_not_conform":
        return Checked(findings=(_finding("out_of_tolerance", decision, keys),))
    return Checked(agreed=(f"{decision.says[0].upper()}{decision.says[1:]}.",))


def _rest_of_the_steel_agrees(item: Item) -> bool:
    """Whether mark and photo both say the ordered size: then one odd reading is more likely a slip of the hand."""
    need = item.requirement.explained
    marks = [o for o in observed(item, "designation", ("marking",)) if certain(o, item)]
    marked = any(explain(str(o.value)).basic == need.basic for o in marks)
    pictured = any(
        o.u is not None and abs(float(o.value) - (need.od_mm or 0.0)) <= 3 * o.u
        for o in observed(item, "od_mm", ("geometry",))
    )
    return marked and pictured


def _finding(code: str, decision: Decision, keys: tuple[str, ...]) -> Finding:
    return Finding(
        code=code,
        weight="contradiction",
        question="asked_for",
        says=f"{decision.says[0].upper()}{decision.says[1:]}.",
        rests_on=decision.rests_on,
        observations=keys,
    )


def _mass(item: Item, need: Explained) -> Checked:
    weighings = observed(item, "mass_g", ("instrument",))
    if need.kind != "bearing" or not weighings:
        return Checked()
    readings = [MassReading(float(o.value) / 1000, o.source.where) for o in weighings]
    closure_kind = need.closure.kind if need.closure is not None else None
    told = mass_agreement(need.basic or "", readings, closure_kind=closure_kind)
    says = f"{told.says[0].upper()}{told.says[1:]}."
    if told.verdict != "differs":
        return Checked(agreed=(says,))
    return Checked(findings=(suspicious("mass_unusual", says, told.rests_on, *weighings),))
