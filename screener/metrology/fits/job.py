"""Walking a job card: every bearing and seal judged, the check lists gathered, one answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from screener.errors import WrongUsage
from screener.metrology.fits.as_json import fit_as_json
from screener.metrology.fits.bearing_fit import HEADLINES, NOT_YET, BearingFit, fit_bearing
from screener.metrology.fits.case import BearingCase, SealCaseGiven, SeatGiven, Temperatures
from screener.metrology.fits.job_card import CardPart, CardSeat, JobCard
from screener.metrology.fits.neighbours import Clash, clashes
from screener.metrology.fits.seal_fit import SealFit, fit_seal
from screener.metrology.fits.seat_fit import Outcome
from screener.metrology.fits.sequence import DEFER
from screener.metrology.fits.stack import Piece, stack_of
from screener.metrology.reading import Reading

RESULT_SCHEMA = "screener.job_result/1"


@dataclass(frozen=True, slots=True)
class Tick:
    """One line of the check list."""

    part: str
    """Name of the part; empty for a line of the card itself."""
    id: str
    says: str
    done: bool
    forgotten: bool


@dataclass(frozen=True, slots=True)
class PartWalked:
    """One part of the job."""

    card: CardPart
    piece: Piece
    fit: BearingFit | SealFit | None
    """None: spacers, rings and the like."""


@dataclass(frozen=True, slots=True)
class JobWalked:
    """The whole job."""

    card: JobCard
    parts: tuple[PartWalked, ...]
    ticks: tuple[Tick, ...]
    outcome: Outcome
    says: str
    clashes: tuple[Clash, ...] = ()
    """Parts that do not belong beside each other."""

    @property
    def ruled_out(self) -> bool:
        """Whether the readings of a part already rule out pressing it as it was measured."""
        return _ruled_out(self.parts)


def walk(card: JobCard) -> JobWalked:
    """Judge every part of a card.

    Raises
    ------
    WrongUsage
        A part that is not known or a reading that cannot be; ``where`` names the part.
    """
    pieces = stack_of(card)
    parts = tuple(PartWalked(part, piece, _fit(part, card)) for part, piece in zip(card.part, pieces, strict=True))
    apart = clashes(pieces)
    found = {each.fit.outcome for each in parts if each.fit is not None}
    outcome: Outcome = "do_not" if apart or "do_not" in found else "review" if "review" in found else "fits"
    return JobWalked(card, parts, _ticks(card, parts), outcome, _says(parts, outcome, apart), apart)


def _fit(part: CardPart, card: JobCard) -> BearingFit | SealFit | None:
    if part.kind not in {"bearing", "shaft_seal"}:
        return None
    try:
        return fit_bearing(_bearing_case(part, card)) if part.kind == "bearing" else fit_seal(_seal_case(part))
    except WrongUsage as error:
        where = f"part “{part.name}”" + (f", {error.where}" if error.where else "")
        raise WrongUsage(error.says, where=where, next_step=error.next_step, code=error.code) from None


def _seat(given: CardSeat, instrument: str) -> SeatGiven:
    name = given.instrument or instrument
    sections = tuple(
        tuple(Reading(value, name, given.temperature_c) for value in section) for section in given.readings_mm
    )
    return SeatGiven(sections, given.material, given.surface, given.wall_mm, given.zone)


def _bearing_case(part: CardPart, card: JobCard) -> BearingCase:
    return BearingCase(
        part.designation,
        _seat(part.shaft, "micrometer"),
        _seat(part.housing, "bore gauge"),
        bore=tuple(Reading(value, "bore gauge") for value in part.bore_readings_mm),
        od=tuple(Reading(value, "micrometer") for value in part.od_readings_mm),
        turning=part.turning,
        load=part.load,
        load_share=part.load_share,
        running=Temperatures(part.inner_c, part.outer_c, part.shaft_c, part.housing_c),
        room_c=card.room_c,
        friction=part.friction,
        radial_load_n=part.radial_load_n,
        rpm=part.rpm,
    )


def _seal_case(part: CardPart) -> SealCaseGiven:
    return SealCaseGiven(
        part.designation,
        _seat(part.shaft, "micrometer"),
        _seat(part.housing, "bore gauge"),
        rpm=part.rpm,
        keep=part.keep,
        material=part.lip_material,
        hardness_hrc=part.hardness_hrc,
        roughness_ra_um=part.ra_um,
    )


def _ticks(card: JobCard, parts: tuple[PartWalked, ...]) -> tuple[Tick, ...]:
    ticks = [Tick("", f"card-{n}", each.says, each.done, False) for n, each in enumerate(card.companion, start=1)]
    for each in parts:
        lines = each.fit.companions if each.fit is not None else ()
        ticks += [Tick(each.card.name, line.id, line.says, line.id in each.card.done, line.forgotten) for line in lines]
    return tuple(ticks)


def _says(parts: tuple[PartWalked, ...], outcome: Outcome, apart: tuple[Clash, ...]) -> str:
    judged = [each for each in parts if each.fit is not None]
    if not judged and not apart:
        return "The card holds no bearing and no seal: nothing to judge."
    if outcome == "fits":
        return "All seats fit as measured."
    seats = [_reason(each) for each in judged if each.fit is not None and each.fit.outcome == outcome]
    named = "; ".join([*seats, *(f"{each.name}: {each.says}" for each in apart)])
    head = NOT_YET if outcome == "review" and _ruled_out(parts) else HEADLINES[outcome]
    return f"{head}: {named}."


def _ruled_out(parts: tuple[PartWalked, ...]) -> bool:
    return any(each.fit is not None and each.fit.steps_hold == "not" for each in parts)


def _reason(part: PartWalked) -> str:
    against = part.fit.against if part.fit is not None else ()
    return f"{part.card.name} ({', '.join(against)})" if against else part.card.name


def job_as_json(job: JobWalked) -> dict[str, Any]:
    """Return the walked job as one JSON object, schema ``screener.job_result/1``."""
    return {
        "schema": RESULT_SCHEMA,
        "title": job.card.title,
        "outcome": job.outcome,
        "says": job.says,
        "clashes": [{"name": each.name, "says": each.says} for each in job.clashes],
        "parts": [
            {
                "name": each.card.name,
                "kind": each.card.kind,
                "designation": each.card.designation,
                "size": each.piece.size,
                "from_mm": round(each.piece.left_mm, 3),
                "to_mm": round(each.piece.right_mm, 3),
                "fit": None if each.fit is None else fit_as_json(each.fit),
            }
            for each in job.parts
        ],
        "check_list": [
            {"part": each.part, "id": each.id, "says": each.says, "done": each.done, "often_forgotten": each.forgotten}
            for each in job.ticks
        ],
        "defer": DEFER,
    }
