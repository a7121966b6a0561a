"""Dimensions of the batch against their tolerance: each unit decided, and the process where numbers allow it.

Units are decided by ISO 14253-1 with their own uncertainty. Cp and Cpk (ISO 22514-2) are given only for enough units,
with an instrument fine enough for the tolerance (ISO 22514-7), and always with an interval: chi-square for Cp, and for
Cpk the approximation of Bissell, "How reliable is your capability index?", Appl. Statist. 39, 1990.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

import numpy as np

from screener.audit.batch.columns import Column
from screener.audit.batch.distributions import chi_square_quantile
from screener.audit.batch.unit import feature_says
from screener.metrology.bearing import measure_bearing
from screener.metrology.decision import Limits, decide_interval
from screener.metrology.reading import Reading
from screener.parts import explain
from screener.specs.boundary import boundary

FEWEST_UNITS = 25
"""With fewer, the interval of Cp is wider than plus or minus a quarter (computed: chi-square)."""
COARSEST = 0.30
"""ISO 22514-7: twice the expanded uncertainty may be at most this share of the tolerance."""
CONFIDENCE = 0.95
_FEATURES = {"bore": "bore_mm", "outside diameter": "od_mm", "width": "width_mm"}


@dataclass(frozen=True, slots=True)
class Capability:
    """Cp and Cpk, each with the 95 % interval."""

    cp: float
    cp_low: float
    cp_high: float
    cpk: float
    cpk_low: float
    cpk_high: float


@dataclass(frozen=True, slots=True)
class AgainstTolerance:
    """One dimension of the batch against its limits."""

    feature: str
    lower: float
    upper: float
    rests_on: str
    conforms: tuple[int, ...]
    """Places of the units proven within the limits."""
    differs: tuple[int, ...]
    """Places of those proven outside."""
    open: tuple[int, ...]
    """Places of those that the instrument cannot decide."""
    capability: Capability | None
    why_none: str
    """Why there is no capability; empty where there is one."""

    @property
    def says(self) -> str:
        """How the units lie against the limits, in a sentence or two."""
        counts = f"{len(self.conforms)} proven within, {len(self.differs)} proven outside"
        head = (
            f"{feature_says(self.feature)} {self.lower:.3f} to {self.upper:.3f} mm: {counts}, "
            f"{len(self.open)} that this instrument cannot decide."
        )
        found = self.capability
        if found is None:
            return f"{head} No capability: {self.why_none}"
        return (
            f"{head} Cp {found.cp:.2f} ({found.cp_low:.2f} to {found.cp_high:.2f}), "
            f"Cpk {found.cpk:.2f} ({found.cpk_low:.2f} to {found.cpk_high:.2f})."
        )


def against_tolerance(need: str, columns: Sequence[Column]) -> list[AgainstTolerance]:
    """Return each measured dimension against the limits of the part that was ordered."""
    limits = tolerance_limits(need)
    return [_judged(column, limits[column.feature]) for column in columns if column.feature in limits]


def tolerance_limits(need: str) -> dict[str, Limits]:
    """Return the limits of a bearing by the number they belong to; nothing for a part without limits in the tables."""
    part = explain(need)
    row = boundary(part.basic or "")
    if not part.understood or part.kind != "bearing" or row is None:
        return {}
    width = row.width_for(closed=part.closure is not None and part.closure.kind != "open")
    measured = measure_bearing(
        row,
        bore=[Reading(row.bore_mm, "caliper")],
        od=[Reading(row.od_mm, "caliper")],
        width=[Reading(width, "caliper")],
        accuracy=part.accuracy or "Normal",
        closure_kind=part.closure.kind if part.closure else None,
        tapered_bore=part.tapered_bore is not None,
    )
    return {_FEATURES[each.characteristic]: each.limits for each in measured.decisions if each.limits is not None}


def capability(values: Sequence[float], lower: float, upper: float) -> Capability:
    """Return Cp and Cpk of values against limits.

    Parameters
    ----------
    values
        At least two, not all equal.
    lower, upper
        The limits, in the unit of ``values``.
    """
    n = len(values)
    mean, s = float(np.mean(values)), float(np.std(values, ddof=1))
    cp = (upper - lower) / (6 * s)
    cpk = min(upper - mean, mean - lower) / (3 * s)
    tail = (1 - CONFIDENCE) / 2
    reach = NormalDist().inv_cdf(1 - tail) * sqrt(1 / (9 * n) + cpk**2 / (2 * (n - 1)))
    return Capability(
        cp=cp,
        cp_low=cp * sqrt(chi_square_quantile(tail, n - 1) / (n - 1)),
        cp_high=cp * sqrt(chi_square_quantile(1 - tail, n - 1) / (n - 1)),
        cpk=cpk,
        cpk_low=cpk - reach,
        cpk_high=cpk + reach,
    )


def _judged(column: Column, limits: Limits) -> AgainstTolerance:
    by_verdict: dict[str, list[int]] = {"conforms": [], "does_not_conform": [], "cannot_tell": []}
    for place, value, u in zip(column.units, column.raw, column.u * _slope(column), strict=True):
        reach = 2 * float(u)
        verdict = "cannot_tell" if np.isnan(u) else decide_interval(float(value) - reach, float(value) + reach, limits)
        by_verdict[verdict].append(place)
    why_none = _why_no_capability(column, limits)
    return AgainstTolerance(
        feature=column.feature,
        lower=limits.lower_mm,
        upper=limits.upper_mm,
        rests_on=limits.rests_on,
        conforms=tuple(by_verdict["conforms"]),
        differs=tuple(by_verdict["does_not_conform"]),
        open=tuple(by_verdict["cannot_tell"]),
        capability=None if why_none else capability(column.raw.tolist(), limits.lower_mm, limits.upper_mm),
        why_none=why_none,
    )


def _slope(column: Column) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return what brings ``u`` back to the unit of ``raw``."""
    return np.where(column.values == column.raw, 1.0, column.raw)


def _why_no_capability(column: Column, limits: Limits) -> str:
    tolerance = limits.upper_mm - limits.lower_mm
    u = float(np.nanmedian(column.u * _slope(column))) if not np.all(np.isnan(column.u)) else float("nan")
    if len(column.raw) < FEWEST_UNITS:
        return f"{len(column.raw)} units were measured; capability needs {FEWEST_UNITS}."
    if not 4 * u <= COARSEST * tolerance:
        return f"the instrument is too coarse for a tolerance of {1000 * tolerance:.0f} µm (ISO 22514-7)."
    return "" if float(np.std(column.raw)) > 0 else "all readings are equal: the instrument shows no spread."
