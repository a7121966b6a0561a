"""Fits as plain values for JSON: schema ``screener.fit/1`` (documented in `screener.cli.fit`)."""

from __future__ import annotations

from typing import Any

from screener.metrology.fits.bearing_fit import BearingFit, ClearanceAnswer, group_words
from screener.metrology.fits.clearance_left import GroupLeft, standing
from screener.metrology.fits.heating import Heating
from screener.metrology.fits.interference import Interference
from screener.metrology.fits.loose_seat import LooseSeat
from screener.metrology.fits.measured_seat import MeasuredSeat
from screener.metrology.fits.pressing import Pressing
from screener.metrology.fits.recommended import Recommended
from screener.metrology.fits.seal_fit import SealFit, SealSeatFit
from screener.metrology.fits.seat_fit import SeatFit
from screener.metrology.fits.sequence import DEFER
from screener.metrology.fits.span import Span

SCHEMA = "screener.fit/1"
_Json = dict[str, Any]


def fit_as_json(fit: BearingFit | SealFit) -> _Json:
    """Return the answer as one JSON object."""
    return _bearing(fit) if isinstance(fit, BearingFit) else _seal(fit)


def _span(found: Span | None, digits: int) -> _Json | None:
    return None if found is None else {"low": round(found.low, digits), "high": round(found.high, digits)}


def _common(fit: BearingFit | SealFit, designation: str, kind: str) -> _Json:
    return {
        "schema": SCHEMA,
        "designation": designation,
        "kind": kind,
        "basic": fit.part.basic,
        "outcome": fit.outcome,
        "says": fit.says,
        "against": list(fit.against),
        "steps_hold": fit.steps_hold,
    }


def _ending(fit: BearingFit | SealFit) -> _Json:
    return {
        "steps": [{"says": each.says, "rests_on": each.rests_on} for each in fit.steps],
        "cautions": [{"says": each.says, "rests_on": each.rests_on} for each in fit.cautions],
        "companions": [
            {"id": each.id, "says": each.says, "often_forgotten": each.forgotten, "rests_on": each.rests_on}
            for each in fit.companions
        ],
        "not_checked": list(fit.not_checked),
        "defer": DEFER,
    }


def _bearing(fit: BearingFit) -> _Json:
    return {
        **_common(fit, fit.case.designation, "bearing"),
        "look_again": list(fit.look_again),
        "load": fit.load_says,
        "seats": [_seat(fit.shaft), _seat(fit.housing)],
        "clearance": None if fit.clearance is None else _clearance(fit.clearance),
        "clearance_says": fit.clearance_says,
        "running": [
            {"seat": each.seat, "interference_um": _span(each.interference_um, 1), "lost": each.lost, "says": each.says}
            for each in fit.running
        ],
        "heating": None if fit.heating is None else _heating(fit.heating),
        "creep": None
        if fit.creep is None
        else {"needed_um": _span(fit.creep.needed_um, 1), "says": fit.creep.says, "rests_on": fit.creep.rests_on},
        **_ending(fit),
    }


def _measured(found: MeasuredSeat | None) -> _Json | None:
    if found is None:
        return None
    return {
        "size_mm": _span(found.size_mm, 4),
        "readings": found.readings,
        "sections": len(found.sections),
        "instrument": found.sections[0].instrument,
        "out_of_round_um": _span(found.out_of_round_um, 1),
        "taper_um": _span(found.taper_um, 1),
        "notes": list(found.notes),
    }


def _recommended(each: Recommended) -> _Json:
    return {
        "zone": each.zone,
        "lower_mm": round(each.limits.lower_mm, 4),
        "upper_mm": round(each.limits.upper_mm, 4),
        "when": each.when,
        "moves": each.moves,
        "verdict": each.verdict,
        "rests_on": each.sources,
    }


def _seat(seat: SeatFit) -> _Json:
    return {
        "seat": seat.seat,
        "nominal_mm": seat.nominal_mm,
        "wants": seat.wants,
        "material": seat.made_of.material,
        "measured": _measured(seat.measured),
        "ring_mm": None if seat.ring is None else _span(seat.ring.size_mm, 4),
        "ring_measured": None if seat.ring is None else seat.ring.measured,
        "recommended": [_recommended(each) for each in seat.recommended],
        "fit": seat.kind,
        "interference": None if seat.interference is None else _interference(seat.interference),
        "pressing": None if seat.pressing is None else _pressing(seat.pressing),
        "loose": None if seat.loose is None else _loose(seat.loose),
        "form": list(seat.form),
        "bent": list(seat.bent),
        "outcome": seat.outcome,
        "says": seat.says,
    }


def _interference(found: Interference) -> _Json:
    return {
        "widest_um": _span(found.widest_um, 1),
        "probable_um": _span(found.probable_um, 1),
        "effective_um": _span(found.effective_um, 1),
        "smoothing_um": _span(found.smoothing_um, 1),
        "rests_on": list(found.rests_on),
    }


def _pressing(found: Pressing) -> _Json:
    return {
        "pressure_mpa": _span(found.pressure_mpa, 2),
        "hoop_stress_mpa": _span(found.hoop_stress_mpa, 1),
        "force_n": _span(found.force_n, 0),
        "pull_off_n": _span(found.pull_off_n, 0),
        "warnings": list(found.warnings),
        "rests_on": list(found.rests_on),
    }


def _loose(found: LooseSeat) -> _Json:
    return {
        "diametral_gap_mm": _span(found.gap_mm, 4),
        "compounds": [each.compound for each in found.compounds],
        "says": found.says,
        "cautions": list(found.cautions),
        "rests_on": [each.row_name for each in found.compounds],
    }


def _group(each: GroupLeft, groups: tuple[GroupLeft, ...], *, seats_right: bool) -> _Json:
    return {
        "group": each.group,
        "standing": standing(each, groups) if seats_right else None,
        "initial_um": _span(each.initial_um, 1),
        "left_probable_um": _span(each.left.probable_um, 1),
        "left_widest_um": _span(each.left.widest_um, 1),
        "fit_loss_um": _span(each.left.fit_loss_um, 1),
        "heat_loss_um": _span(each.left.heat_loss_um, 1),
        "outcome": each.outcome,
        "rests_on": each.rests_on,
    }


def _clearance(answer: ClearanceAnswer) -> _Json:
    return {
        "group": answer.group,
        "answer": group_words(answer),
        "outcome": answer.mine.outcome,
        "needed": answer.needed,
        "cold": [_group(each, answer.cold, seats_right=answer.seats_right) for each in answer.cold],
        "running": [_group(each, answer.running, seats_right=answer.seats_right) for each in answer.running],
        "says": answer.says,
        "others_says": answer.others_says,
        "usual_warm_says": answer.usual_warm_says,
    }


def _heating(found: Heating) -> _Json:
    return {
        "needed_c": _span(found.needed_c, 0),
        "ceiling_c": _span(found.ceiling_c, 0),
        "drops_on": found.drops_on,
        "cool_shaft_to_c": _span(found.cool_shaft_to_c, 0),
        "says": found.says,
        "rests_on": list(found.rests_on),
    }


def _seal(fit: SealFit) -> _Json:
    return {
        **_common(fit, fit.case.designation, "shaft_seal"),
        "seats": [_seal_seat(fit.shaft), _seal_seat(fit.housing)],
        "surface_speed_m_per_s": _span(fit.speed_m_per_s, 3),
        "advice": [
            {"about": each.about, "outcome": each.outcome, "says": each.says, "rests_on": each.rests_on}
            for each in fit.advice
        ],
        **_ending(fit),
    }


def _seal_seat(seat: SealSeatFit) -> _Json:
    return {
        "seat": seat.seat,
        "nominal_mm": seat.nominal_mm,
        "measured": _measured(seat.measured),
        "recommended": [
            {
                "zone": each.zone,
                "lower_mm": round(each.limits.lower_mm, 4),
                "upper_mm": round(each.limits.upper_mm, 4),
                "verdict": each.verdict,
                "rests_on": f"{each.asked_by}; {each.limits.rests_on}",
            }
            for each in seat.decisions
        ],
        "outcome": seat.outcome,
        "says": seat.says,
    }
