"""Units that stand apart in one number.

The distance is taken from the median, in robust spreads (Qn) and with each unit's own uncertainty; all numbers of all
units are tested together, so that a larger batch does not alarm more often (Benjamini-Hochberg).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from screener.audit.batch import label_colours
from screener.audit.batch.columns import Column
from screener.audit.batch.distributions import t_two_sided
from screener.audit.batch.multiple import benjamini_hochberg
from screener.audit.batch.unit import block_of

FEWEST_UNITS = 8
"""With fewer, the spread itself is hardly known (judgement)."""
FALSE_SHARE = 0.05
"""Of what is called standing apart, at most this share on average is chance."""
LEAST_DISTANCE = 3.0
_QN_EFFICIENCY = 0.82
"""Rousseeuw and Croux 1993: what share of the units' information on the spread Qn uses."""
_MEDIAN_VARIANCE = 1.5708
"""pi / 2: variance of a median against that of a mean."""


@dataclass(frozen=True, slots=True)
class Outlier:
    """One number of one unit that stands apart."""

    unit: int
    """Place of the unit in its group."""
    feature: str
    value: float
    middle: float
    """Median of the group, in the number's unit."""
    distance: float
    """In robust spreads, with sign."""
    p: float
    """Adjusted for all tests of the group."""


def find_outliers(columns: Sequence[Column]) -> tuple[list[Outlier], int]:
    """Return the units that stand apart, furthest first, and how many tests were made."""
    found: list[tuple[Column, int, float, float]] = []
    for column in columns:
        scales = column.scales()
        if len(column.units) < FEWEST_UNITS or not np.all(scales > 0):
            continue
        n = len(column.units)
        distances = (column.values - column.middle) / scales / (1 + _MEDIAN_VARIANCE / n) ** 0.5
        freedom = max(1.0, _QN_EFFICIENCY * (n - 1))
        found.extend((column, at, float(z), t_two_sided(float(z), freedom)) for at, z in enumerate(distances))
    adjusted = benjamini_hochberg([p for *_, p in found])
    apart = [
        Outlier(column.units[at], column.feature, float(column.raw[at]), float(np.median(column.raw)), z, p)
        for (column, at, z, _), p in zip(found, adjusted, strict=True)
        if p <= FALSE_SHARE and abs(z) >= LEAST_DISTANCE and _is_to_be_seen(column, at, columns)
    ]
    return sorted(apart, key=lambda each: -abs(each.distance)), len(found)


def _is_to_be_seen(column: Column, at: int, columns: Sequence[Column]) -> bool:
    """Whether a colour is far enough from the usual one for an eye; other numbers are by being far in spreads."""
    if block_of(column.feature) != "label colours":
        return True
    unit = column.units[at]
    rows = {each.feature: each for each in columns if unit in each.units and _same_colour(each, column)}
    mine = {name: float(each.raw[each.units.index(unit)]) for name, each in rows.items()}
    usual = {name: float(np.median(each.raw)) for name, each in rows.items()}
    return label_colours.apart(mine, usual) >= label_colours.LEAST_APART


def _same_colour(one: Column, other: Column) -> bool:
    return one.feature.rpartition(".")[0] == other.feature.rpartition(".")[0]
