"""A shaft seal before it is pressed: shaft h11, housing H8, surface, hardness, lip direction, speed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.decision import Limits, Verdict
from screener.metrology.fits.case import SealCaseGiven, SeatGiven
from screener.metrology.fits.checking import FASTEST_RPM, check_within
from screener.metrology.fits.companions import Companion, seal_companions
from screener.metrology.fits.joints import known_material
from screener.metrology.fits.measured_seat import MeasuredSeat, measure_seat
from screener.metrology.fits.recommended import check_zone, decide_seat, limits_of
from screener.metrology.fits.seat_fit import Outcome
from screener.metrology.fits.sequence import Line, StepsHold, seal_sequence, steps_hold
from screener.metrology.fits.span import Span
from screener.metrology.slips import refuse_slips
from screener.metrology.wording import limits_words
from screener.parts.explaining import explain
from screener.parts.model import Explained
from screener.specs.fit_limits import seal_speed
from screener.specs.fit_tables import Seat
from screener.specs.seal_tolerances import SEAT_TABLE, SealSeatRow, seal_seat_rows

FAST_M_PER_S = 4.0
"""From here a harder track is asked for (see seal_seats.csv)."""
FAST_HRC = 55.0
WHERE_TO_TELL = "tell it with --keep in or out, as keep = on a job card, or under “It keeps” on the page"
_ZONES: dict[Seat, tuple[tuple[str, str], ...]] = {
    "shaft": (("h11", "pages of seal makers"), ("h10", "interstate standard")),
    "housing": (("H8", "pages of seal makers"), ("H9", "interstate standard")),
}


@dataclass(frozen=True, slots=True)
class SealSeatDecision:
    """A seat against one class."""

    zone: str
    asked_by: str
    limits: Limits
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class SealSeatFit:
    """One seat of a seal."""

    seat: Seat
    nominal_mm: float
    measured: MeasuredSeat | None
    decisions: tuple[SealSeatDecision, ...]
    outcome: Outcome
    says: str


@dataclass(frozen=True, slots=True)
class Advice:
    """One demand beyond the diameters: surface, hardness, speed, lip."""

    about: str
    outcome: Outcome | None
    """None: advice only, nothing was told to compare with."""
    says: str
    rests_on: str


@dataclass(frozen=True, slots=True)
class SealFit:
    """The whole answer."""

    case: SealCaseGiven
    part: Explained
    shaft: SealSeatFit
    housing: SealSeatFit
    speed_m_per_s: Span | None
    advice: tuple[Advice, ...]
    steps: tuple[Line, ...]
    cautions: tuple[Line, ...]
    companions: tuple[Companion, ...]
    not_checked: tuple[str, ...]
    outcome: Outcome
    says: str
    against: tuple[str, ...] = ()
    """What speaks against pressing, each in a few words."""
    brief: tuple[str, ...] = ()
    """A line for each seat."""

    @property
    def headline(self) -> str:
        """The answer in a few words."""
        return HEADLINES[self.outcome]

    @property
    def steps_hold(self) -> StepsHold:
        """Whether the steps may be followed."""
        return steps_hold(self.outcome)


def fit_seal(case: SealCaseGiven) -> SealFit:
    """Judge the seats of a shaft seal.

    Raises
    ------
    WrongUsage
        A designation that is no seal size, or a reading that cannot be.
    """
    part = explain(case.designation)
    if part.kind != "shaft_seal" or part.bore_mm is None or part.od_mm is None:
        raise WrongUsage(
            f"“{case.designation}” is no size of a shaft seal.",
            where="designation",
            next_step="Write shaft x housing x width: 35x52x7.",
            code="designation",
        )
    check_within(case.hardness_hrc, "hardness of the track", 0.0, 70.0, "HRC")
    check_within(case.roughness_ra_um, "surface of the track, Ra", 0.0, 100.0, "µm")
    refuse_slips({"shaft": (case.shaft.values_mm, part.bore_mm), "housing": (case.housing.values_mm, part.od_mm)})
    shaft = _seat("shaft", part.bore_mm, case.shaft)
    housing = _seat("housing", part.od_mm, case.housing)
    speed = surface_speed(shaft, case.rpm)
    advice = (*_shaft_advice(case, speed), _speed_advice(case.material or part.material, speed), _lip_advice(case))
    found = {shaft.outcome, housing.outcome, *(each.outcome for each in advice if each.outcome is not None)}
    outcome: Outcome = "do_not" if "do_not" in found else "review" if "review" in found else "fits"
    steps, cautions = seal_sequence(frozenset({f"keep {case.keep}"} if case.keep else ()))
    return SealFit(
        case=case,
        part=part,
        shaft=shaft,
        housing=housing,
        speed_m_per_s=speed,
        advice=advice,
        steps=steps,
        cautions=cautions,
        companions=seal_companions(),
        not_checked=_not_checked(case),
        outcome=outcome,
        says=_says(outcome, (shaft, housing), advice),
        against=_against((shaft, housing), advice),
        brief=(_brief(shaft), _brief(housing)),
    )


def _seat(seat: Seat, nominal_mm: float, given: SeatGiven) -> SealSeatFit:
    measured = measure_seat(seat, nominal_mm, given.sections, known_material(given.material, seat))
    if given.zone:
        check_zone(seat, given.zone)
    zones = ((given.zone, "the machine's drawing, as told"),) if given.zone else _ZONES[seat]
    decisions = []
    for zone, asked_by in zones:
        limits = limits_of(zone, nominal_mm)
        verdict = None if measured is None else decide_seat(measured, limits)
        decisions.append(SealSeatDecision(zone, asked_by, limits, verdict))
    found = tuple(decisions)
    return SealSeatFit(seat, nominal_mm, measured, found, _seat_outcome(found), _seat_says(seat, measured, found))


def _seat_outcome(decisions: tuple[SealSeatDecision, ...]) -> Outcome:
    verdicts = {each.verdict for each in decisions}
    if "conforms" in verdicts:
        return "fits"
    return "do_not" if verdicts == {"does_not_conform"} else "review"


def _seat_says(seat: Seat, measured: MeasuredSeat | None, decisions: tuple[SealSeatDecision, ...]) -> str:
    name = seat.capitalize()
    asked = "; ".join(_decision_says(each) for each in decisions)
    if measured is None:
        return f"{name} not measured. Asked for: {asked}."
    # No capital at the start of the second half: h11 and H11 are two things.
    return f"{name} {measured.size_mm.low:.3f} to {measured.size_mm.high:.3f} mm; {asked}."


def _decision_says(each: SealSeatDecision) -> str:
    words = {"conforms": ": within", "does_not_conform": ": outside", "cannot_tell": ": can't be told", None: ""}
    return f"{each.zone} {limits_words(each.limits)} ({each.asked_by}){words[each.verdict]}"


def surface_speed(shaft: SealSeatFit, rpm: float | None) -> Span | None:
    """Return the speed of the shaft's surface under the lip in m/s, or None without a speed.

    Raises
    ------
    WrongUsage
        A speed below zero or no number.
    """
    if rpm is None:
        return None
    check_within(rpm, "speed", 0.0, FASTEST_RPM, "rpm")
    nominal = Span(shaft.nominal_mm, shaft.nominal_mm)
    size = shaft.measured.size_mm if shaft.measured is not None else nominal
    return size.scaled(math.pi * rpm / 60 / 1000)


def _row(what: str) -> SealSeatRow:
    return next(row for row in seal_seat_rows() if row.what == what)


def _shaft_advice(case: SealCaseGiven, speed: Span | None) -> tuple[Advice, ...]:
    surface, hardness = _row("shaft surface Ra"), _row("shaft hardness")
    low, high = surface.low or 0.0, surface.high or 0.0
    ra = case.roughness_ra_um
    said = f"Shaft surface Ra {low:g} to {high:g} µm, ground without lead; smoother runs dry, rougher wears the lip"
    least = FAST_HRC if speed is not None and speed.high >= FAST_M_PER_S else (hardness.low or 0.0)
    hrc = case.hardness_hrc
    hard = f"Track at least {least:g} HRC ({hardness.note})"
    return (
        Advice(
            "surface",
            _judged(None if ra is None else low <= ra <= high),
            _beside(said, "Ra", ra, "µm"),
            _rests(surface),
        ),
        Advice(
            "hardness", _judged(None if hrc is None else hrc >= least), _beside(hard, "", hrc, "HRC"), _rests(hardness)
        ),
    )


def _judged(holds: bool | None) -> Outcome | None:
    return None if holds is None else "fits" if holds else "review"


def _beside(said: str, name: str, told: float | None, unit: str) -> str:
    return f"{said}; not told." if told is None else f"{said}; told: {name} {told:g} {unit}.".replace("  ", " ")


def _rests(row: SealSeatRow) -> str:
    return f"{SEAT_TABLE}: {row.what} ({row.source})"


def _speed_advice(material: str | None, speed: Span | None) -> Advice:
    if speed is None:
        return Advice("speed", None, "Speed not told: the lip's limit is not checked.", "fit_seal_speeds.csv")
    value = f"surface speed {_speed_words(speed)} m/s"
    row = seal_speed(material) if material else None
    if row is None:
        named = f"The table has no speed limit for {material}" if material else "The material is not known"
        return Advice("speed", "review", f"{named}: {value} not judged.", "fit_seal_speeds.csv")
    limit = f"{row.material} lips are good to {row.low_m_per_s:g} to {row.high_m_per_s:g} m/s by different lists"
    if speed.high <= row.low_m_per_s:
        return Advice("speed", "fits", f"{limit}; {value}: within all.", row.row_name)
    if speed.low > row.high_m_per_s:
        return Advice("speed", "do_not", f"{limit}; {value}: too fast for this material.", row.row_name)
    return Advice("speed", "review", f"{limit}; {value}: within some, not all.", row.row_name)


def _speed_words(speed: Span) -> str:
    low, high = f"{speed.low:.2f}", f"{speed.high:.2f}"
    return low if low == high else f"{low} to {high}"


def _lip_advice(case: SealCaseGiven) -> Advice:
    words = {
        None: "Which way the lip faces depends on the job: keep the medium in, or dirt out? See how the old one faced, "
        f"and {WHERE_TO_TELL}.",
        "in": "Keep in: lip and spring toward the medium.",
        "out": "Keep out: the lip usually faces away from the grease, toward the dirt.",
    }
    return Advice(
        "lip", "review" if case.keep is None else "fits", words[case.keep], "common practice; workshop manuals"
    )


def _not_checked(case: SealCaseGiven) -> tuple[str, ...]:
    missing = {
        "shaft (not measured)": not case.shaft.sections,
        "housing (not measured)": not case.housing.sections,
        "speed": case.rpm is None,
        "hardness of the track": case.hardness_hrc is None,
        "surface of the track": case.roughness_ra_um is None,
    }
    always = ("lead of the grinding", "runout and offset of shaft to bore", "pressure", "medium against material")
    return (*(word for word, holds in missing.items() if holds), *always)


_AGAINST = {
    "surface": "surface of the track not as asked for",
    "hardness": "track softer than asked for",
    "speed": "speed not within the limit of the lip",
    "lip": "which way the lip faces was not told",
}


def _against(seats: tuple[SealSeatFit, SealSeatFit], advice: tuple[Advice, ...]) -> tuple[str, ...]:
    found = [_seat_against(seat) for seat in seats if seat.outcome != "fits"]
    found += [_AGAINST[each.about] for each in advice if each.outcome in {"review", "do_not"}]
    only = found == [_AGAINST["lip"]]
    return (*found, f"the only open point, the seats are within limits: {WHERE_TO_TELL}") if only else tuple(found)


def _seat_against(seat: SealSeatFit) -> str:
    if seat.measured is None:
        return f"{seat.seat} not measured"
    zones = " and ".join(each.zone for each in seat.decisions)
    return f"{seat.seat} outside {zones}" if seat.outcome == "do_not" else f"{seat.seat}: can't be told against {zones}"


def _brief(seat: SealSeatFit) -> str:
    name = seat.seat.capitalize()
    if seat.measured is None:
        return f"{name} not measured."
    within = [each.zone for each in seat.decisions if each.verdict == "conforms"]
    size = f"{name} {seat.measured.size_mm.low:.3f} to {seat.measured.size_mm.high:.3f} mm"
    return f"{size}: within {' and '.join(within)}." if within else f"{size}: {_seat_against(seat).partition(' ')[2]}."


HEADLINES: dict[Outcome, str] = {
    "fits": "Seats suit the seal as measured",
    "review": "Look again before pressing",
    "do_not": "Do not press as it is",
}


def _says(outcome: Outcome, seats: tuple[SealSeatFit, ...], advice: tuple[Advice, ...]) -> str:
    if outcome == "fits":
        return f"{HEADLINES[outcome]}."
    reasons = [seat.says for seat in seats if seat.outcome == outcome]
    reasons += [each.says for each in advice if each.outcome == outcome]
    return " ".join([f"{HEADLINES[outcome]}.", *reasons])
