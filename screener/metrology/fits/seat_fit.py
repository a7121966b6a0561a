"""One seat of a bearing, whole: measured, decided, its interference, what pressing or repairing it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.metrology.decision import Verdict
from screener.metrology.fits.case import BearingCase, SeatGiven, Turning
from screener.metrology.fits.interference import (
    FitKind,
    Interference,
    SizeKnown,
    fit_kind,
    interference,
    ring_size,
    seat_size,
    widest_gap_um,
)
from screener.metrology.fits.joints import joint, known_material
from screener.metrology.fits.lame import Joint
from screener.metrology.fits.loose_seat import LooseSeat, loose_seat
from screener.metrology.fits.measured_seat import MeasuredSeat, form_too_much, form_words, measure_seat
from screener.metrology.fits.pressing import Pressing, pressing
from screener.metrology.fits.raceway import Raceways
from screener.metrology.fits.recommended import Recommended, loosest, recommend
from screener.metrology.fits.seat_wording import missed_words, seat_says
from screener.specs.boundary import BoundaryRow
from screener.specs.fit_materials import MaterialRow
from screener.specs.fit_tables import Seat, form_share

Wants = Literal["tight", "loose"]
Outcome = Literal["fits", "review", "do_not"]

_TIGHT: dict[Seat, frozenset[Turning]] = {"shaft": frozenset({"inner", "undefined"}), "housing": frozenset({"outer"})}
_COARSE = 2.0
"""Times the width of a class that readings may leave open and still be worth an answer (judgement)."""
_LOOSE: dict[Seat, Turning] = {"shaft": "outer", "housing": "inner"}


@dataclass(frozen=True, slots=True)
class SeatFit:
    """Everything about one seat."""

    seat: Seat
    nominal_mm: float
    wants: Wants | None
    """What the load case asks of this ring; None: either, or not told."""
    made_of: MaterialRow
    measured: MeasuredSeat | None
    recommended: tuple[Recommended, ...]
    size: SizeKnown | None
    ring: SizeKnown | None
    joint: Joint
    interference: Interference | None
    kind: FitKind | None
    pressing: Pressing | None
    loose: LooseSeat | None
    form: tuple[str, ...]
    bent: tuple[str, ...]
    """``out of round``, ``tapered``: surely more than any list allows."""
    outcome: Outcome
    says: str

    @property
    def as_recommended(self) -> bool:
        """Whether the seat is what lists or the drawing ask for; one not measured is taken to be."""
        if self.measured is None:
            return bool(self.recommended)
        if self.bent:
            return False
        verdicts = {each.verdict for each in self.recommended}
        return "conforms" in verdicts or ("cannot_tell" in verdicts and self.outcome == "fits")

    @property
    def is_wrong(self) -> bool:
        """Whether the readings show for sure that the seat is not what is asked for."""
        missed = missed_words(self.seat, self.measured, self.recommended)
        return self.outcome != "fits" and bool(self.bent or missed)

    @property
    def too_coarse(self) -> bool:
        """Whether the readings leave far more open than the widest class, so that they decide nothing."""
        if self.measured is None or {each.verdict for each in self.recommended} != {"cannot_tell"}:
            return False
        return all(each.highest_mm - each.lowest_mm > _COARSE * self.widest_class_mm for each in self.measured.sections)

    @property
    def widest_class_mm(self) -> float:
        """Width of the widest class that is recommended; 0 where none is."""
        return max((each.limits.upper_mm - each.limits.lower_mm for each in self.recommended), default=0.0)


def wants(seat: Seat, turning: Turning | None) -> Wants | None:
    """Return what a ring needs: the one that turns relative to the load is tight, the other may be loose."""
    if turning is None:
        return None
    if turning in _TIGHT[seat]:
        return "tight"
    return "loose" if turning == _LOOSE[seat] else None


def fit_seat(
    seat: Seat, row: BoundaryRow, accuracy: str, where: Raceways, case: BearingCase, *, no_seat: str = ""
) -> SeatFit:
    """Judge one seat.

    Parameters
    ----------
    seat, row, accuracy, where, case
        Which seat of which bearing; its class, raceways and what was told.
    no_seat
        Why this seat has no cylindrical fit (tapered bore, no inner ring); empty where it has one.

    Raises
    ------
    WrongUsage
        A reading, material, surface, class or wall that cannot be.
    """
    given = case.shaft if seat == "shaft" else case.housing
    nominal_mm = row.bore_mm if seat == "shaft" else row.od_mm
    made_of = known_material(given.material, seat)
    measured = measure_seat(seat, nominal_mm, given.sections, made_of)
    recommended = () if no_seat else recommend(seat, row.family, nominal_mm, case, measured)
    of_ring = None if no_seat else ring_size(row, seat, accuracy, case.bore if seat == "shaft" else case.od)
    of_seat = seat_size(measured, recommended)
    body = joint(seat, row, where, given)
    found = _interference(seat, of_seat, of_ring, given)
    kind = _kind(seat, found, of_ring, recommended or loosest(seat, nominal_mm))
    wanted = wants(seat, case.turning)
    bent = _bent(measured, recommended, accuracy)
    outcome = _outcome(measured, recommended, kind, wanted)
    outcome = "review" if bent and outcome == "fits" else outcome
    return SeatFit(
        seat=seat,
        nominal_mm=nominal_mm,
        wants=wanted,
        made_of=made_of,
        measured=measured,
        recommended=recommended,
        size=of_seat,
        ring=of_ring,
        joint=body,
        interference=found,
        kind=kind,
        pressing=None if found is None else pressing(body, found, row, case.friction),
        loose=_loose(measured, found, kind, wanted, case),
        form=_form(measured, recommended, accuracy),
        bent=bent,
        outcome=outcome,
        says=seat_says(seat, measured, recommended, found, kind, wanted, no_seat or _why_none(case)),
    )


def _why_none(case: BearingCase) -> str:
    """Why no class is recommended, if none is."""
    if case.turning is None:
        return "Which ring turns relative to the load was not told: no class can be recommended."
    if case.load is None and case.load_share is None:
        return "The load was not told: no class can be recommended."
    return "The tables have no row for this load case, bearing and size: ask the machine's drawing."


def _interference(
    seat: Seat, of_seat: SizeKnown | None, of_ring: SizeKnown | None, given: SeatGiven
) -> Interference | None:
    if of_seat is None or of_ring is None:
        return None
    return interference(seat, of_seat, of_ring, given.surface)


def _kind(
    seat: Seat, found: Interference | None, of_ring: SizeKnown | None, recommended: tuple[Recommended, ...]
) -> FitKind | None:
    if found is None or of_ring is None:
        return None
    return fit_kind(found, widest_gap_um=widest_gap_um(seat, of_ring, recommended))


def _loose(
    measured: MeasuredSeat | None,
    found: Interference | None,
    kind: FitKind | None,
    wanted: Wants | None,
    case: BearingCase,
) -> LooseSeat | None:
    if measured is None or found is None:
        return None
    if kind == "loose" or (kind == "slide" and wanted == "tight"):
        temperatures = [each for each in (case.running.inner_c, case.running.outer_c) if each is not None]
        return loose_seat(found, measured, max(temperatures, default=None))
    return None


def _bent(measured: MeasuredSeat | None, recommended: tuple[Recommended, ...], accuracy: str) -> tuple[str, ...]:
    rule = form_share(accuracy)
    if measured is None or rule is None or not recommended:
        return ()
    return form_too_much(measured, _tolerance_um(recommended), rule)


def _tolerance_um(recommended: tuple[Recommended, ...]) -> float:
    limits = recommended[0].limits
    return (limits.upper_mm - limits.lower_mm) * 1000


def _form(measured: MeasuredSeat | None, recommended: tuple[Recommended, ...], accuracy: str) -> tuple[str, ...]:
    rule = form_share(accuracy)
    if measured is None or rule is None or not recommended:
        return ()
    return form_words(measured, _tolerance_um(recommended), rule)


def _outcome(
    measured: MeasuredSeat | None, recommended: tuple[Recommended, ...], kind: FitKind | None, wanted: Wants | None
) -> Outcome:
    if measured is None or kind is None:
        return "review"
    if wanted == "tight" and kind in {"slide", "loose"}:
        return "do_not"
    if kind == "loose":
        return "do_not" if recommended else "review"
    verdicts: set[Verdict | None] = {each.verdict for each in recommended}
    if "conforms" in verdicts:
        return "fits"
    # Narrow classes can hardly be proven with a micrometer: the kind of fit then decides.
    as_wanted = (wanted, kind) in {
        ("tight", "press"),
        ("loose", "slide"),
        ("loose", "transition"),
        (None, "transition"),
    }
    return "fits" if as_wanted and "cannot_tell" in verdicts else "review"
