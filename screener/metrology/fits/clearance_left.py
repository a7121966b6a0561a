"""Radial clearance left after fitting and when running warm, and which clearance group the job needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.metrology.fits.case import Temperatures
from screener.metrology.fits.interference import Interference
from screener.metrology.fits.joints import RING_MATERIAL, alpha_per_k, known_material
from screener.metrology.fits.lame import Joint, growth_um, shrinkage_um
from screener.metrology.fits.raceway import Raceways
from screener.metrology.fits.span import ZERO, Span, exactly, probable_sum, widest_sum
from screener.metrology.temperature import REFERENCE_C
from screener.specs.boundary import BoundaryRow
from screener.specs.clearances import ClearanceRow, clearance
from screener.specs.fit_materials import MaterialRow
from screener.specs.fit_tables import Seat

Outcome = Literal["enough", "enough_as_a_rule", "wider_group_needed", "preloaded"]
"""``enough``: the probable range stays above zero; ``enough_as_a_rule``: its middle does;
``wider_group_needed``: it does not; ``preloaded``: the whole range is below zero."""
GROUPS = ("C2", "CN", "C3", "C4", "C5")
Standing = Literal["fits", "fits_as_a_rule", "too_tight", "looser_than_needed"]
"""What a group is for this job; a group that leaves enough where a tighter one does too is looser than needed."""


@dataclass(frozen=True, slots=True)
class SeatJoint:
    """One seat as the clearance sees it."""

    seat: Seat
    joint: Joint
    interference: Interference
    made_of: MaterialRow


@dataclass(frozen=True, slots=True)
class Left:
    """Clearance left in micrometres; below zero is preload."""

    widest_um: Span
    probable_um: Span
    fit_loss_um: Span
    heat_loss_um: Span


@dataclass(frozen=True, slots=True)
class GroupLeft:
    """One clearance group in this job."""

    group: str
    initial_um: Span
    left: Left
    outcome: Outcome
    rests_on: str


def outcome_of(left: Left) -> Outcome:
    """Return what a clearance left means; the probable range decides."""
    probable = left.probable_um
    if probable.low >= 0:
        return "enough"
    if probable.high < 0:
        return "preloaded"
    return "enough_as_a_rule" if probable.middle >= 0 else "wider_group_needed"


def clearance_left(
    initial_um: Span, where: Raceways, joints: tuple[SeatJoint, ...], running: Temperatures | None = None
) -> Left:
    """Return the clearance left, cold (``running`` None) or at running temperatures.

    Parameters
    ----------
    initial_um
        Radial clearance before fitting.
    where
        The raceways.
    joints
        Shaft and housing, or one of them; a seat left out changes nothing.
    running
        Temperatures; both rings' must be known.
    """
    fit = [_fit_loss(each, running, widest=False) for each in joints]
    worst = [_fit_loss(each, running, widest=True) for each in joints]
    heat = ZERO if running is None else heat_loss_um(where, running)
    parts = (initial_um, heat.scaled(-1))
    return Left(
        widest_um=widest_sum((*parts, *(each.scaled(-1) for each in worst))),
        probable_um=probable_sum((*parts, *(each.scaled(-1) for each in fit))),
        fit_loss_um=widest_sum(fit),
        heat_loss_um=heat,
    )


def heat_loss_um(where: Raceways, running: Temperatures) -> Span:
    """Return what the inner ring being warmer takes: alpha x difference x outer raceway (the fits catalogue's rule)."""
    if running.inner_c is None or running.outer_c is None:
        return ZERO
    alpha = alpha_per_k(known_material(RING_MATERIAL, "bearing"))
    return alpha.scaled((running.inner_c - running.outer_c) * where.outer_mm * 1000)


def _fit_loss(each: SeatJoint, running: Temperatures | None, *, widest: bool) -> Span:
    effective = _effective_um(each, running, widest=widest)
    change = growth_um if each.seat == "shaft" else shrinkage_um
    return Span(change(each.joint, effective.low), change(each.joint, effective.high))


def _effective_um(each: SeatJoint, running: Temperatures | None, *, widest: bool) -> Span:
    found = each.interference
    add = widest_sum if widest else probable_sum
    cold = found.widest_um if widest else found.probable_um
    return add((cold, found.smoothing_um.scaled(-1), interference_change_um(each, running))).above_zero()


def interference_change_um(each: SeatJoint, running: Temperatures | None) -> Span:
    """Return by how much interference grows from 20 °C to running temperature (below zero: it is lost)."""
    if running is None:
        return ZERO
    ring_c = running.inner_c if each.seat == "shaft" else running.outer_c
    told_c = running.shaft_c if each.seat == "shaft" else running.housing_c
    body_c = ring_c if told_c is None else told_c
    if ring_c is None or body_c is None:
        return ZERO
    ring = _growth_um(known_material(RING_MATERIAL, each.seat), ring_c, each.joint.joint_mm)
    body = _growth_um(each.made_of, body_c, each.joint.joint_mm)
    return body - ring if each.seat == "shaft" else ring - body


def _growth_um(made_of: MaterialRow, at_c: float, diameter_mm: float) -> Span:
    return alpha_per_k(made_of).times(exactly((at_c - REFERENCE_C) * diameter_mm * 1000))


def by_group(
    row: BoundaryRow, where: Raceways, joints: tuple[SeatJoint, ...], running: Temperatures | None
) -> tuple[GroupLeft, ...]:
    """Return every clearance group the table has for this bearing, tight ones first; empty where it has none."""
    found = [clearance(row.family, row.bore_mm, group) for group in GROUPS]
    return tuple(_group(each, where, joints, running) for each in found if each is not None)


def _group(
    table_row: ClearanceRow, where: Raceways, joints: tuple[SeatJoint, ...], running: Temperatures | None
) -> GroupLeft:
    initial = Span(table_row.min_um, table_row.max_um)
    left = clearance_left(initial, where, joints, running)
    return GroupLeft(table_row.group, initial, left, outcome_of(left), table_row.row_name)


def first_suitable(groups: tuple[GroupLeft, ...]) -> GroupLeft | None:
    """Return the tightest group that leaves enough, at least as a rule; None if none does."""
    return next((each for each in groups if each.outcome in {"enough", "enough_as_a_rule"}), None)


def first_sure(groups: tuple[GroupLeft, ...]) -> GroupLeft | None:
    """Return the tightest group from CN on whose whole probable range leaves clearance; None if none does."""
    return next((each for each in groups if each.group != "C2" and each.outcome == "enough"), None)


def standing(each: GroupLeft, groups: tuple[GroupLeft, ...]) -> Standing:
    """Return what one group is for this job among all groups of the table."""
    if each.outcome in {"preloaded", "wider_group_needed"}:
        return "too_tight"
    if each.outcome == "enough_as_a_rule":
        return "fits_as_a_rule"
    sure = first_sure(groups)
    loose = sure is not None and GROUPS.index(each.group) > GROUPS.index(sure.group)
    return "looser_than_needed" if loose else "fits"


def steps_too_loose(mine: GroupLeft, groups: tuple[GroupLeft, ...]) -> int:
    """Return by how many groups a bearing is looser than the job needs; 0 where it is not."""
    sure = first_sure(groups)
    if sure is None or standing(mine, groups) != "looser_than_needed":
        return 0
    return GROUPS.index(mine.group) - GROUPS.index(sure.group)


_STANDINGS: dict[Standing, str] = {
    "fits": "clear in every likely pairing",
    "fits_as_a_rule": "would do as a rule",
    "too_tight": "too tight",
    "looser_than_needed": "looser than needed (more play and noise)",
}


def other_groups_words(mine: GroupLeft, groups: tuple[GroupLeft, ...], *, warm: bool) -> str:
    """Return what the other groups are for this job, each named once: ``CN too tight; C4, C5 looser than needed``."""
    named: dict[Standing, list[str]] = {}
    for each in groups:
        if each.group != mine.group:
            named.setdefault(standing(each, groups), []).append(each.group)
    when = "at these temperatures" if warm else "cold"
    said = "; ".join(f"{', '.join(names)} {_STANDINGS[word]}" for word, names in named.items())
    return f"Other groups here, {when}: {said}." if said else ""


_ENOUGH = {"enough": "is enough", "enough_as_a_rule": "is enough as a rule"}


def clearance_words(mine: GroupLeft, groups: tuple[GroupLeft, ...], *, warm: bool) -> str:
    """Return the answer in one sentence."""
    numbers = _left_words(mine, warm=warm)
    if mine.outcome in _ENOUGH:
        spare = _spare_words(mine, groups)
        doubt = "; unlucky pairings run with slight preload: measure bore and shaft, or take a wider group where it"
        doubt = f"{doubt} runs warm or fast" if mine.outcome == "enough_as_a_rule" else ""
        return f"{mine.group} {_ENOUGH[mine.outcome]}: {numbers}{doubt}{spare}."
    better = first_suitable(tuple(each for each in groups if GROUPS.index(each.group) > GROUPS.index(mine.group)))
    needed = "no group of the table leaves enough" if better is None else f"{better.group} needed"
    if mine.outcome == "preloaded":
        return f"Preloaded with {mine.group}: do not press ({numbers}); {needed}."
    return f"{needed[0].upper()}{needed[1:]}: {mine.group} leaves {numbers.replace(' left', '')}."


def clearance_words_as_it_is(mine: GroupLeft, *, warm: bool) -> str:
    """Return what a group leaves on seats that are not as recommended, without naming another group."""
    numbers = _left_words(mine, warm=warm)
    if mine.outcome == "preloaded":
        return f"Preloaded with {mine.group}: do not press ({numbers})."
    short = "" if mine.outcome in _ENOUGH else ", too little"
    return f"On these seats {mine.group} leaves {numbers.replace(' left', '')}{short}."


def _left_words(mine: GroupLeft, *, warm: bool) -> str:
    probable = mine.left.probable_um
    when = "running" if warm else "after fitting, cold"
    # Adding nought turns a nought below zero ("-0 µm") into a plain one.
    return f"{round(probable.low) + 0.0:.0f} to {round(probable.high) + 0.0:.0f} µm left {when}"


def _spare_words(mine: GroupLeft, groups: tuple[GroupLeft, ...]) -> str:
    sure = first_sure(groups)
    if sure is not None and steps_too_loose(mine, groups):
        return f"; looser than needed: {sure.group} would do, with less play and noise"
    return ""
