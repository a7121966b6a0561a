"""Readings with instruments against the ordered size: the decisions are those of `screener.metrology`.

A wrong size is a matter of the order first. It speaks for suspicion only where the ring itself is marked with the size
that it does not have: under a right box alone a part is more likely swapped than passed off.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from screener.metrology.bearing import measure_bearing
from screener.metrology.mass import mass_agreement
from screener.metrology.reading import MassReading, Reading
from screener.metrology.seal import measure_seal
from screener.parts import explain
from screener.screening.checks.outcome import Checked, suspicious, together
from screener.screening.model import Finding, NotChecked
from screener.screening.observed import certain, named, observed, on_closure
from screener.specs.boundary import boundary
from screener.specs.seals import SealSizeRow

if TYPE_CHECKING:
    from screener.metrology.characteristic import Decision
    from screener.metrology.mass import MassAgreement
    from screener.parts.model import Explained
    from screener.screening.model import Attribute, Channel, Item, Observation, Surroundings

_ATTRIBUTE: dict[str, Attribute] = {
    "bore": "bore_mm",
    "outside diameter": "od_mm",
    "free outside diameter": "od_mm",
    "width": "width_mm",
}


_NAMING: tuple[Channel, ...] = ("marking", "label", "barcode")
OFF_MM = 0.1
"""A dimension as far as this outside its limits is another size, no matter of tolerance (judgement; GM1)."""
SLIP_MM = 1.0
"""Readings of one dimension this far apart are no one part's: a digit slipped or another part lay there (judgement)."""


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
    told = [_told(item, d, alone=alone) for d in decisions]
    return together([*told, _unlike_its_name(item, decisions), _mass(item, need)])


def signs_to_be_seen(item: Item) -> frozenset[str]:
    """Return the indicators of size and mass that these readings would have shown."""
    need = item.requirement.explained
    if need.kind != "bearing" or need.basic is None:
        return frozenset()
    name = _name_of_the_size(item)
    measured = {d.characteristic: d for d in _decisions(item, need)} if name else {}
    width = measured.get("width")
    marked = name is not None and name.source.channel == "marking"
    found = {"GM1"} if marked and {"bore", "outside diameter", "width"} <= set(measured) else set()
    found |= {"GM2"} if width is not None and width.limits is not None else set()
    told = _mass_told(item, need)
    return frozenset(found | ({"GM3"} if told is not None and told.verdict != "cannot_tell" else set()))


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
    if _slipped(decision):
        return Checked(findings=(_disagree(item, decision, keys),))
    if decision.size == "differs":
        if alone and _rest_of_the_steel_agrees(item):
            odd = _finding("reading_against_the_rest", decision, keys)
            return Checked(findings=(replace(odd, weight="question", question="agreement"),))
        return Checked(findings=(_finding("measured_size_differs", decision, keys),))
    if decision.verdict == "does_not_conform":
        return Checked(findings=(_finding("out_of_tolerance", decision, keys),))
    says = f"{decision.says[0].upper()}{decision.says[1:]}."
    if decision.size == "cannot_tell":
        return Checked(gaps=(NotChecked(_ATTRIBUTE[decision.characteristic], says, word=decision.characteristic),))
    return Checked(agreed=(says,))


def _slipped(decision: Decision) -> bool:
    return (decision.estimate.out_of_round_mm or 0.0) > SLIP_MM


def _disagree(item: Item, decision: Decision, keys: tuple[str, ...]) -> Finding:
    values = [float(o.value) for o in observed(item, _ATTRIBUTE[decision.characteristic], ("instrument",))]
    apart = max(values) - min(values)
    said = ", ".join(f"{value:g}" for value in values)
    return Finding(
        code="readings_disagree",
        weight="question",
        question="agreement",
        says=f"The {len(values)} readings of the {decision.characteristic} lie {apart:.2f} mm apart: {said} mm.",
        rests_on=f"readings of one part within {SLIP_MM:g} mm (judgement)",
        observations=keys,
    )


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


def _unlike_its_name(item: Item, decisions: tuple[Decision, ...]) -> Checked:
    """The signs GM1 and GM2, each once: what box or mark name is not what is measured."""
    name = _name_of_the_size(item)
    if name is None or item.requirement.explained.kind != "bearing":
        return Checked()
    off = [d for d in decisions if _off_nominal(d) and not _slipped(d)]
    if len(off) == 1 and _rest_of_the_steel_agrees(item):
        return Checked()  # more likely a slip of the hand: `reading_against_the_rest` holds it
    if off and name.source.channel == "marking":
        return Checked(findings=(_unlike("size_unlike_its_name", item, off[0], name),))
    narrow = [d for d in decisions if (d.characteristic, d.verdict, d.size) == ("width", "does_not_conform", "agrees")]
    return Checked(findings=tuple(_unlike("width_unlike_its_name", item, d, name) for d in narrow))


def _off_nominal(decision: Decision) -> bool:
    """Whether all that the readings leave open is this far outside the limits; without (a tapered bore) nothing is."""
    found, limits = decision.estimate, decision.limits
    if limits is None:
        return False
    return found.lowest_mm > limits.upper_mm + OFF_MM or found.highest_mm < limits.lower_mm - OFF_MM


def _unlike(code: str, item: Item, decision: Decision, name: Observation) -> Finding:
    said = observed(item, _ATTRIBUTE[decision.characteristic], ("instrument",))
    says = f"The {named(name)} names {name.value}, whose {decision.characteristic} is {decision.nominal_mm:g} mm; it "
    says += f"measures {decision.estimate.mean_mm:.2f} mm."
    return suspicious(code, says, decision.rests_on, name, *said)


def _name_of_the_size(item: Item) -> Observation | None:
    """Who names the ordered size for sure, the mark first; None where nobody does or the ring names another size."""
    basic = item.requirement.explained.basic
    said = [o for o in observed(item, "designation", _NAMING) if certain(o, item) and not on_closure(o)]
    sizes = {o.key: explain(str(o.value)).basic for o in said}
    marks = [o for o in said if o.source.channel == "marking"]
    if any(sizes[o.key] not in {None, basic} for o in marks):
        return None
    return next((o for o in (*marks, *said) if sizes[o.key] == basic), None)


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
    told = _mass_told(item, need)
    if told is None:
        says = "Mass: the tables hold masses of bearings only; weigh a known good piece beside it."
        return Checked(gaps=(NotChecked("mass_g", says, word="mass"),)) if _weighings(item) else Checked()
    says = f"{told.says[0].upper()}{told.says[1:]}."
    if told.verdict == "cannot_tell":
        return Checked(gaps=(NotChecked("mass_g", says, word="mass"),))
    if told.verdict == "agrees":
        return Checked(agreed=(says,))
    return Checked(findings=(suspicious("mass_unusual", says, told.rests_on, *_weighings(item)),))


def _mass_told(item: Item, need: Explained) -> MassAgreement | None:
    readings = [MassReading(float(o.value) / 1000, o.source.where) for o in _weighings(item)]
    if need.kind != "bearing" or not readings:
        return None
    return mass_agreement(need.basic or "", readings, closure_kind=need.closure.kind if need.closure else None)


def _weighings(item: Item) -> tuple[Observation, ...]:
    return observed(item, "mass_g", ("instrument",))
