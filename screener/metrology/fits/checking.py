"""Refusing what cannot be: a load below zero, a temperature no table covers."""

from __future__ import annotations

import math

from screener.errors import WrongUsage
from screener.metrology.fits.case import BearingCase, Temperatures
from screener.metrology.fits.interference import smoothing_of
from screener.metrology.fits.joints import RING_MATERIAL, known_material
from screener.metrology.fits.pressing import friction_of
from screener.specs.fit_materials import MaterialRow

FASTEST_RPM = 1e6
_ROOM = (-30.0, 60.0)
"""Nobody fits bearings outside this range; the number is a slip or in another unit."""


def check_case(case: BearingCase) -> None:
    """Refuse numbers of a case that cannot be.

    Raises
    ------
    WrongUsage
        Naming the number.
    """
    ring = known_material(RING_MATERIAL, "bearing")
    shaft, housing = known_material(case.shaft.material, "shaft"), known_material(case.housing.material, "housing")
    for surface in (case.shaft.surface, case.housing.surface):
        smoothing_of(surface)
    friction_of(case.friction)
    check_within(case.room_c, "room temperature", *_ROOM, "°C")
    check_within(case.load_share, "load share P/C", 0.0, 2.0, "")
    check_within(case.radial_load_n, "radial load", 0.0, 1e8, "N")
    check_within(case.rpm, "speed", 0.0, FASTEST_RPM, "rpm")
    _check_running(case.running, ring, shaft, housing)


def _check_running(running: Temperatures, ring: MaterialRow, shaft: MaterialRow, housing: MaterialRow) -> None:
    shaft_c = running.inner_c if running.shaft_c is None else running.shaft_c
    housing_c = running.outer_c if running.housing_c is None else running.housing_c
    told = (
        ("inner ring", running.inner_c, ring),
        ("outer ring", running.outer_c, ring),
        ("shaft", shaft_c, shaft),
        ("housing", housing_c, housing),
    )
    for name, value_c, made_of in told:
        check_within(value_c, f"{name} temperature ({made_of.material})", made_of.lowest_c, made_of.highest_c, "°C")


def check_within(value: float | None, name: str, low: float, high: float, unit: str) -> None:
    """Refuse a number outside what can be calculated; None is not told.

    Raises
    ------
    WrongUsage
        Naming the number.
    """
    if value is None:
        return
    # NaN fails the comparison too.
    if not (math.isfinite(value) and low <= value <= high):
        of = f" {unit}" if unit else ""
        raise WrongUsage(
            f"{value:g}{of} is outside what can be calculated: {low:g} to {high:g}{of}.",
            where=name,
            next_step="Check the number and its unit; leave it out where it is not known.",
            code="outside",
        )
