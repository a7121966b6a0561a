"""A bearing on the bench: each characteristic decided against its tolerance row, and whether it is the size at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screener.metrology.characteristic import Decision
from screener.metrology.decision import Limits, Verdict, decide
from screener.metrology.estimate import Estimate, estimate
from screener.metrology.mass import MassAgreement, mass_agreement
from screener.metrology.reading import MassReading, Reading
from screener.metrology.size_agreement import SizeVerdict, agreement
from screener.metrology.wording import reading_words, size_words, verdict_words
from screener.specs.boundary import BoundaryRow
from screener.specs.instruments import Use
from screener.specs.iso492 import Ring, ToleranceRow, tolerance, tolerance_kind

_CLASS_NAMES = {"": "Normal", "NORMAL": "Normal", "0": "Normal", "P0": "Normal", "PN": "Normal"}
_USE: dict[str, Use] = {"bore": "inside", "outside diameter": "outside", "width": "outside"}


@dataclass(frozen=True, slots=True)
class Measurement:
    """Everything measured on one bearing."""

    designation: str
    accuracy: str
    decisions: tuple[Decision, ...]
    mass: MassAgreement | None
    not_checked: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def is_this_size(self) -> SizeVerdict:
        """``differs`` if any dimension or the mass differs, ``agrees`` if bore, outside diameter and width agree."""
        sizes = [decision.size for decision in self.decisions]
        if "differs" in sizes or (self.mass is not None and self.mass.verdict == "differs"):
            return "differs"
        return "agrees" if sizes.count("agrees") == len(_USE) else "cannot_tell"


def measure_bearing(
    row: BoundaryRow,
    *,
    bore: Sequence[Reading] = (),
    od: Sequence[Reading] = (),
    width: Sequence[Reading] = (),
    mass: Sequence[MassReading] = (),
    accuracy: str = "Normal",
    closure_kind: str | None = None,
    tapered_bore: bool = False,
    flat_mm: float | None = None,
) -> Measurement:
    """Decide the readings of one bearing.

    Parameters
    ----------
    row
        The bearing's row of boundary dimensions.
    bore, od, width
        Readings of each; leave out what was not measured.
    mass
        Weighings of the piece without wrap.
    accuracy
        Class as marked: ``Normal``, ``P6``, ``P5`` …
    closure_kind
        ``open``, ``shield``, ``contact_seal`` … or None if not known; some closed bearings are wider.
    tapered_bore
        The bearing has a tapered bore (suffix K): its bore is then not judged by this table.
    flat_mm
        Flat width of the caliper's inside jaws where the shop has determined it.

    Raises
    ------
    WrongUsage
        If a reading cannot be one or an instrument is not known.
    """
    grade = accuracy_class(accuracy)
    given = {"bore": bore, "outside diameter": od, "width": width}
    found = {
        name: estimate(readings, _USE[name], what=name, flat_mm=flat_mm)
        for name, readings in given.items()
        if len(readings) > 0
    }
    decisions = tuple(
        _decide(row, name, measured, grade, closure_kind, tapered_bore) for name, measured in found.items()
    )
    return Measurement(
        designation=row.designation,
        accuracy=grade,
        decisions=decisions,
        mass=mass_agreement(row.designation, mass, closure_kind=closure_kind) if mass else None,
        not_checked=_not_checked(given, has_mass=bool(mass)),
        notes=_notes(row, found),
    )


def accuracy_class(marked: str) -> str:
    """Return the class as the tolerance table names it: ``P6`` is ``6``, nothing or ``P0`` is ``Normal``."""
    name = marked.strip().upper()
    return _CLASS_NAMES.get(name, name.removeprefix("P"))


def _decide(
    row: BoundaryRow, name: str, found: Estimate, grade: str, closure_kind: str | None, tapered_bore: bool
) -> Decision:
    nominal_mm = _nominal(row, name, found, closure_kind)
    limits, why_not = _limits(row, name, nominal_mm, grade, tapered_bore=tapered_bore)
    verdict: Verdict = "cannot_tell" if limits is None else decide(found, limits)
    below_mm = 0.0 if limits is None else max(0.0, nominal_mm - limits.lower_mm)
    above_mm = 0.0 if limits is None else max(0.0, limits.upper_mm - nominal_mm)
    size = agreement(nominal_mm, found, below_mm=below_mm, above_mm=above_mm)
    ending = why_not if limits is None else verdict_words(verdict, found, limits)
    return Decision(
        characteristic=name,
        nominal_mm=nominal_mm,
        estimate=found,
        limits=limits,
        verdict=verdict,
        size=size,
        says=f"{reading_words(name, found)}: {size_words(size, nominal_mm)}; {ending}",
        rests_on=row.row_name if limits is None else limits.rests_on,
    )


def _nominal(row: BoundaryRow, name: str, found: Estimate, closure_kind: str | None) -> float:
    if name == "bore":
        return row.bore_mm
    if name == "outside diameter":
        return row.od_mm
    if closure_kind is not None:
        return row.width_for(closed=closure_kind != "open")
    # The closure is not known: whichever width of this number lies nearer.
    widths = [row.width_mm] if row.closed_width_mm is None else [row.width_mm, row.closed_width_mm]
    return min(widths, key=lambda width_mm: abs(width_mm - found.mean_mm))


def _limits(
    row: BoundaryRow, name: str, nominal_mm: float, grade: str, *, tapered_bore: bool
) -> tuple[Limits | None, str]:
    """Return the limits, or None and why there are none."""
    kind = tolerance_kind(row.family)
    if kind is None and row.family == "drawn cup needle roller":
        return None, "a drawn cup takes its size only when pressed into a ring; free, it is not judged"
    if kind is None:
        return None, f"the tables hold no tolerances for {row.family} bearings"
    if name == "bore" and tapered_bore:
        return None, "a tapered bore is not judged by this table"
    if name == "bore" and not row.has_inner_ring:
        return None, "there is no inner ring; the diameter under the rollers is not judged by this table"
    ring: Ring = "outer" if name == "outside diameter" else "inner"
    rules = tolerance(kind, ring, grade, row.od_mm if ring == "outer" else row.bore_mm)
    if rules is None:
        return None, f"the tables hold no {kind} tolerances of class {grade} at this size"
    deviations = _deviations_um(rules, width=name == "width")
    if deviations is None:
        return None, "the tables hold no width tolerance at this size"
    lower, upper = deviations
    return Limits(nominal_mm + lower / 1000, nominal_mm + upper / 1000, rules.row_name), ""


def _deviations_um(rules: ToleranceRow, *, width: bool) -> tuple[float, float] | None:
    if not width:
        return rules.diameter_lower_um, rules.diameter_upper_um
    if rules.width_lower_um is None or rules.width_upper_um is None:
        return None
    return rules.width_lower_um, rules.width_upper_um


def _not_checked(given: dict[str, Sequence[Reading]], *, has_mass: bool) -> tuple[str, ...]:
    missing = [name for name, readings in given.items() if not readings]
    if not has_mass:
        missing.append("mass")
    # The standard measures clearance before grease and closures go in (GOST 520-2011, 9.7): never at receiving.
    return (*missing, "internal clearance", "runout", "noise", "material and hardness")


def _notes(row: BoundaryRow, found: dict[str, Estimate]) -> tuple[str, ...]:
    notes = [f"{name}: {note}" for name, measured in found.items() for note in measured.notes]
    if row.note:
        notes.append(row.note)
    return tuple(notes)
