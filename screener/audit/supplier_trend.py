"""Whether a supplier's rate has changed over the quarters, or only by chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

_FIRST_SHUFFLES, _SHUFFLES = 499, 9_999
_CLEARLY_CHANCE = 0.2
"""Above this after the first shuffles more of them change nothing."""
_LEAST_DELIVERIES = 6
_SEED = 20_261


@dataclass(frozen=True, slots=True)
class Delivered:
    """What came in one delivery: quarter as a running number, items, and how many of them were counted."""

    quarter: int
    items: int
    count: int


@dataclass(frozen=True, slots=True)
class Trend:
    """Answer of the test. ``p`` is None where there is too little to test; ``adjusted`` is over all trends asked."""

    direction: Literal["rising", "falling", "level"]
    p: float | None
    adjusted: float | None = None

    @property
    def changed(self) -> bool:
        """Whether chance is ruled out (after Holm, 5 %)."""
        return self.adjusted is not None and self.adjusted < 0.05


def trend_p(deliveries: Sequence[Delivered]) -> Trend:
    """Return the test for a steady rise or fall over the quarters.

    Deliveries are shuffled over their quarters: what came together stays together, so one wrong box is one event. The
    statistic is that of Cochran and Armitage (Armitage, Biometrics 11, 1955).
    """
    items = np.array([each.items for each in deliveries], dtype=float)
    counts = np.array([each.count for each in deliveries], dtype=float)
    quarters = np.array([each.quarter for each in deliveries], dtype=float)
    if len(deliveries) < _LEAST_DELIVERIES or len(set(quarters)) < 2 or not 0.0 < counts.sum() < items.sum():
        return Trend("level", None)
    beyond = counts - items * counts.sum() / items.sum()
    seen = float(quarters @ beyond)
    direction: Literal["rising", "falling", "level"] = "rising" if seen > 0 else "falling" if seen < 0 else "level"
    p = _share_as_far(quarters, beyond, seen, _FIRST_SHUFFLES)
    return Trend(direction, p if p > _CLEARLY_CHANCE else _share_as_far(quarters, beyond, seen, _SHUFFLES))


def _share_as_far(quarters: NDArray[np.float64], beyond: NDArray[np.float64], seen: float, times: int) -> float:
    shuffled = quarters[_orders(len(quarters), times)] @ beyond
    return (int(np.sum(np.abs(shuffled) >= abs(seen) - 1e-9)) + 1) / (times + 1)


@lru_cache(maxsize=2)
def _orders(count: int, times: int) -> NDArray[np.int32]:
    """Orders by chance, one a row; kept, because each rate of a supplier asks for the same ones."""
    orders = np.tile(np.arange(count, dtype=np.int32), (times, 1))
    return np.random.default_rng(_SEED).permuted(orders, axis=1)
