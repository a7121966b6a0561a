"""Which standard sizes a set of readings fits, best first."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.estimate import Estimate
from screener.metrology.reading import check_values
from screener.metrology.size_agreement import SLACK_MM, agreement
from screener.specs.boundary import BoundaryRow, boundary_rows
from screener.specs.seals import SealSizeRow, seal_sizes

WIDTH_BELOW_MM = 0.25
"""Widths may lie this far below nominal: 0.12 mm for usual bearings, 0.25 mm for large ones (ISO 492)."""

_COMMON_FIRST = (
    "deep groove ball",
    "tapered roller",
    "angular contact ball",
    "cylindrical roller",
    "spherical roller",
    "self-aligning ball",
    "insert",
)


@dataclass(frozen=True, slots=True)
class FittingSize:
    """One standard size beside the readings."""

    row: BoundaryRow
    fits: bool
    """False for the nearest sizes listed because nothing fits."""
    misfit: float
    """Root of the mean square of deviations, each over its standard uncertainty; small is good."""
    closed: bool
    """The width read is that of the shielded or sealed version."""
    rests_on: str


def fitting_sizes(readings: Mapping[str, Estimate], *, at_most: int = 12) -> tuple[FittingSize, ...]:
    """Return the standard bearings whose dimensions the readings leave open, best first.

    Parameters
    ----------
    readings
        Measured dimensions by name: ``bore``, ``od``, ``width``; at least one.
    at_most
        Length of the answer.

    Returns
    -------
    tuple of FittingSize
        Those that fit; if none does, the three nearest, marked as not fitting.

    Raises
    ------
    WrongUsage
        If no dimension or an unknown one is given.
    """
    if not readings or set(readings) - {"bore", "od", "width"}:
        raise WrongUsage(
            "Which size it is needs a bore, an outside diameter or a width.",
            where="readings",
            next_step="Give at least two of them.",
            code="reading",
        )
    near = [row for row in boundary_rows() if _near(row, readings)]
    fitting = [size for size in (_judge(row, readings) for row in near) if size.fits]
    if fitting:
        return tuple(sorted(fitting, key=_rank)[:at_most])
    return tuple(sorted((_judge(row, readings) for row in boundary_rows()), key=_rank)[:3])


def _near(row: BoundaryRow, readings: Mapping[str, Estimate]) -> bool:
    """Sort out the thousands of rows that are plainly another size, before judging the rest properly."""
    bore, od = readings.get("bore"), readings.get("od")
    margin_mm = 2 * SLACK_MM
    return (bore is None or bore.lowest_mm - margin_mm <= row.bore_mm <= bore.highest_mm + margin_mm) and (
        od is None or od.lowest_mm - margin_mm <= row.od_mm <= od.highest_mm + margin_mm
    )


def _judge(row: BoundaryRow, readings: Mapping[str, Estimate]) -> FittingSize:
    closed = "width" in readings and _nearer_closed(row, readings["width"].mean_mm)
    nominal = {"bore": row.bore_mm, "od": row.od_mm, "width": row.width_for(closed=closed)}
    fits = all(
        agreement(nominal[name], found, below_mm=WIDTH_BELOW_MM if name == "width" else 0.0) != "differs"
        for name, found in readings.items()
    )
    misfit = _misfit((found, nominal[name]) for name, found in readings.items())
    return FittingSize(row, fits, misfit, closed, row.row_name)


def _nearer_closed(row: BoundaryRow, width_mm: float) -> bool:
    if row.closed_width_mm is None:
        return False
    return abs(row.closed_width_mm - width_mm) < abs(row.width_mm - width_mm)


def _misfit(pairs: Iterable[tuple[Estimate, float]]) -> float:
    squares = [((found.mean_mm - nominal) / math.hypot(found.budget.u, SLACK_MM)) ** 2 for found, nominal in pairs]
    return math.sqrt(sum(squares) / len(squares))


def _rank(size: FittingSize) -> tuple[float, int, int, str]:
    family = size.row.family
    usual = _COMMON_FIRST.index(family) if family in _COMMON_FIRST else len(_COMMON_FIRST)
    # Two decimals: sizes of equal dimensions differ by rounding only, then the commoner family and shorter name lead.
    return (round(size.misfit, 2), usual, len(size.row.designation), size.row.designation)


SEAL_WITHIN_MM = 0.5
"""How far a reading may be from a standard size's nominal: worn tracks and rough bores included (common practice)."""


@dataclass(frozen=True, slots=True)
class FittingSeal:
    """One standard seal size beside a shaft, a housing bore and a width."""

    row: SealSizeRow
    fits: bool
    """False for the nearest sizes listed because nothing fits."""
    distance_mm: float
    """The largest difference between a reading and the nominal dimension."""
    rests_on: str


def fitting_seals(
    shaft_mm: float | None = None,
    housing_mm: float | None = None,
    width_mm: float | None = None,
    *,
    within_mm: float = SEAL_WITHIN_MM,
) -> tuple[FittingSeal, ...]:
    """Return the standard seal sizes for a shaft and a housing bore (not for the seal's free diameters), nearest first.

    Parameters
    ----------
    shaft_mm, housing_mm, width_mm
        Dimensions of the seats and the room along the shaft; what is not known is left out.
    within_mm
        How far each dimension may be off.

    Returns
    -------
    tuple of FittingSeal
        Those that fit; if none does, the three nearest, marked as not fitting.

    Raises
    ------
    WrongUsage
        If neither shaft nor housing is given, or a dimension cannot be one.
    """
    wanted = {"shaft": shaft_mm, "housing": housing_mm, "width": width_mm}
    told = {name: value for name, value in wanted.items() if value is not None}
    if not set(told) - {"width"}:
        raise WrongUsage(
            "Which seal it is needs a shaft or a housing bore.",
            where="readings",
            next_step="Give the shaft, the housing bore or both; the width narrows it down.",
            code="reading",
        )
    for name, value in told.items():
        check_values((value,), name)
    found = sorted((_judge_seal(row, told, within_mm) for row in seal_sizes()), key=_nearest_seal_first)
    fitting = tuple(each for each in found if each.fits)
    return fitting or tuple(found[:3])


def _judge_seal(row: SealSizeRow, told: Mapping[str, float], within_mm: float) -> FittingSeal:
    nominal = {"shaft": row.shaft_mm, "housing": row.housing_mm, "width": row.width_mm}
    distance_mm = max(abs(nominal[name] - value) for name, value in told.items())
    return FittingSeal(row, distance_mm <= within_mm, distance_mm, row.row_name)


def _nearest_seal_first(seal: FittingSeal) -> tuple[float, float, float]:
    return (round(seal.distance_mm, 3), seal.row.housing_mm, seal.row.width_mm)
