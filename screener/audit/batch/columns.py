"""The numbers of like units side by side, on a scale where shares and lengths can be compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from screener.audit.batch.robust import Numbers, median, spread
from screener.audit.batch.unit import Unit, is_share


@dataclass(frozen=True, slots=True)
class Column:
    """One number over the units that have it.

    Positive numbers are compared by their logarithm: what a process varies by is a share of the value. Colours are not.
    """

    feature: str
    units: tuple[int, ...]
    """Places of the units in the group."""
    raw: Numbers
    values: Numbers
    u: Numbers
    """Standard uncertainties on the scale of ``values``; NaN where none was given."""

    @property
    def middle(self) -> float:
        """Median of ``values``."""
        return median(self.values)

    @property
    def spread(self) -> float:
        """Robust spread of ``values``."""
        return spread(self.values)

    def scales(self) -> Numbers:
        """Return for each unit how far chance moves it: the spread between units, and its own uncertainty.

        The spread seen holds the usual uncertainty already; a unit measured worse than the others gets more room.
        """
        known = np.nan_to_num(self.u, nan=0.0)
        usual = float(np.median(known**2))
        return np.asarray(np.sqrt(max(self.spread**2 - usual, 0.0) + np.maximum(known**2, usual)))


def columns_of(units: Sequence[Unit], least: int) -> list[Column]:
    """Return a column for each number that at least ``least`` units have, in the order first met."""
    names = dict.fromkeys(name for unit in units for name in unit.numbers)
    columns = (_column(name, units) for name in names)
    return [column for column in columns if len(column.units) >= least]


def _column(feature: str, units: Sequence[Unit]) -> Column:
    places = tuple(place for place, unit in enumerate(units) if feature in unit.numbers)
    numbers = [units[place].numbers[feature] for place in places]
    raw = np.array([each.value for each in numbers], dtype=float)
    u = np.array([np.nan if each.u is None else each.u for each in numbers], dtype=float)
    if len(raw) and raw.min() > 0 and is_share(feature):
        return Column(feature, places, raw, np.log(raw), u / raw)
    return Column(feature, places, raw, raw, u)
