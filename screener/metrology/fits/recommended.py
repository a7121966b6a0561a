"""The classes lists recommend for a load case, their limits in mm, and the seat decided against each of them."""

from __future__ import annotations

from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.decision import Limits, Verdict, decide_interval
from screener.metrology.estimate import Estimate
from screener.metrology.fits.case import BearingCase
from screener.metrology.fits.measured_seat import MeasuredSeat
from screener.specs.fit_tables import LOADS, FitRow, Load, Seat, load_class_rows, recommended_fits
from screener.specs.iso286 import limit_deviations


@dataclass(frozen=True, slots=True)
class Recommended:
    """One class with its limits and, if the seat was measured, the decision."""

    zone: str
    limits: Limits
    when: str
    """A condition beyond the load case; empty for the usual choice."""
    moves: str
    verdict: Verdict | None
    """None: the seat was not measured."""
    sources: str
    for_load: Load | None = None
    """None: the machine's drawing names the class, the load plays no part."""


@dataclass(frozen=True, slots=True)
class LoadSaid:
    """The load classes a case may belong to; two where the lists end them differently."""

    classes: tuple[Load, ...]
    says: str


def load_classes(case: BearingCase) -> LoadSaid:
    """Return the load class as told, or by each list's limits from P/C: both where they differ."""
    if case.load is not None:
        return LoadSaid((case.load,), f"{case.load} load, as told")
    if case.load_share is None:
        return LoadSaid((), "the load was not told")
    share = case.load_share
    by_list = {row.name: row.load(share) for row in load_class_rows()}
    classes = tuple(load for load in LOADS if load in by_list.values())
    if len(classes) == 1:
        return LoadSaid(classes, f"P/C = {share:.3g}: {classes[0]} load in all lists")
    named = ", ".join(f"{load} in the {name}" for name, load in by_list.items())
    return LoadSaid(classes, f"P/C = {share:.3g} lies between classes ({named}): the fits of both are shown")


def limits_of(zone: str, nominal_mm: float) -> Limits:
    """Return the limits of an ISO 286 class in mm."""
    found = limit_deviations(nominal_mm, zone)
    return Limits(nominal_mm + found.lower_um / 1000, nominal_mm + found.upper_um / 1000, found.rests_on)


def check_zone(seat: Seat, zone: str) -> None:
    """Refuse a hole's class for a shaft and the other way round: H7 and h7 are two things.

    Raises
    ------
    WrongUsage
        Naming the seat.
    """
    letter = zone.strip()[:1]
    if letter.isalpha() and letter.isupper() == (seat == "shaft"):
        kind, other = ("small", "k6, h11") if seat == "shaft" else ("capital", "H7, N7")
        raise WrongUsage(
            f"“{zone}” is no class for a {seat}: its letter is a {kind} one.",
            where=seat,
            next_step=f"Write it as the drawing does: {other}.",
            code="zone",
        )


LOOSEST: dict[Seat, str] = {"shaft": "g6", "housing": "H8"}
"""The loosest class any list gives a bearing's seat; what is wider is loose, whatever the load."""


def loosest(seat: Seat, nominal_mm: float) -> tuple[Recommended, ...]:
    """Return the loosest class that lists give, for a seat whose load case is not known; empty outside the tables."""
    try:
        return (_one(LOOSEST[seat], "", "", "", nominal_mm, None, None),)
    except WrongUsage:
        return ()


def decide_seat(measured: MeasuredSeat, limits: Limits) -> Verdict:
    """Decide a seat (ISO 14253-1): one cross section outside is a seat outside.

    A small bore is never called too small from jaws that read small bores short.
    """
    if any(_is_outside(each, limits) for each in measured.sections):
        return "does_not_conform"
    verdict = decide_interval(measured.size_mm.low, measured.size_mm.high, limits)
    return "cannot_tell" if verdict == "does_not_conform" else verdict


def _is_outside(section: Estimate, limits: Limits) -> bool:
    if decide_interval(section.lowest_mm, section.highest_mm, limits) != "does_not_conform":
        return False
    return not (section.may_read_short and section.mean_mm < limits.lower_mm)


def recommend(
    seat: Seat,
    family: str,
    nominal_mm: float,
    case: BearingCase,
    measured: MeasuredSeat | None,
) -> tuple[Recommended, ...]:
    """Return the drawing's class, or every class lists give for the case; empty where no list has a row."""
    given = case.shaft if seat == "shaft" else case.housing
    if given.zone is not None:
        check_zone(seat, given.zone)
        return (_one(given.zone, "", "", "the machine's drawing, as told", nominal_mm, measured, None),)
    if case.turning is None:
        return ()
    found: dict[str, Recommended] = {}
    for load in load_classes(case).classes:
        for row in recommended_fits(seat, family, case.turning, load, nominal_mm):
            _keep(found, row, nominal_mm, measured, load)
    return tuple(sorted(found.values(), key=lambda each: each.when != ""))


def _keep(
    found: dict[str, Recommended], row: FitRow, nominal_mm: float, measured: MeasuredSeat | None, load: Load
) -> None:
    # The usual choice of one load class is not overwritten by a conditional one of another.
    if row.zone not in found or (found[row.zone].when and not row.when):
        found[row.zone] = _one(row.zone, row.when, row.moves, row.row_name, nominal_mm, measured, load)


def _one(
    zone: str, when: str, moves: str, sources: str, nominal_mm: float, measured: MeasuredSeat | None, load: Load | None
) -> Recommended:
    limits = limits_of(zone, nominal_mm)
    verdict = None if measured is None else decide_seat(measured, limits)
    return Recommended(zone, limits, when, moves, verdict, sources, load)
