"""Suppliers beside each other, without a league table: who differs beyond chance, and who cannot be told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from screener.audit.batch.multiple import holm
from screener.audit.supplier_rates import Prior

ERRS_AT_MOST = 0.05
_FEWEST_POINTS, _MOST_POINTS = 2_001, 60_001
_MOST_ITEMS = 40_000.0
"""More tell no more for this purpose, and the row of points would be too coarse."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two suppliers: the probability that the first has the higher rate, and whether chance can be ruled out.

    ``adjusted`` is the two-sided tail probability after Holm over all pairs and rates looked at.
    """

    first: str
    second: str
    first_higher: float
    adjusted: float

    @property
    def differ(self) -> bool:
        """Whether the two are told apart."""
        return self.adjusted < ERRS_AT_MOST


def pair_chances(counts: Sequence[tuple[float, float]], prior: Prior) -> NDArray[np.float64]:
    """Return for each two suppliers the probability that the first one's rate is the higher, shape (n, n).

    Parameters
    ----------
    counts
        (count, items) of each supplier.
    """
    a, b = _posteriors(counts, prior)
    density = _densities(a, b)
    below = np.cumsum(density, axis=1) - density / 2
    chances: NDArray[np.float64] = density @ below.T
    return chances


def _posteriors(counts: Sequence[tuple[float, float]], prior: Prior) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    numbers = np.asarray(counts, dtype=float).reshape(-1, 2)
    numbers = numbers * np.minimum(1.0, _MOST_ITEMS / np.maximum(numbers[:, 1:], 1.0))
    return prior.alpha + numbers[:, 0], prior.beta + numbers[:, 1] - numbers[:, 0]


def _densities(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each posterior on a row of log-odds: there it has no poles, and equal steps are as good as any rule."""
    middle, width = np.log(a / b), np.sqrt(1 / a + 1 / b)
    low = float((middle - 14.0 * width - 12.0 / a).min())
    high = float((middle + 14.0 * width + 12.0 / b).max())
    points = int((high - low) / (float(width.min()) / 4))
    odds = np.linspace(low, high, min(max(points, _FEWEST_POINTS), _MOST_POINTS))
    log_p, log_q = -np.logaddexp(0.0, -odds), -np.logaddexp(0.0, odds)
    log_density = a[:, None] * log_p + b[:, None] * log_q
    density = np.exp(log_density - log_density.max(axis=1, keepdims=True))
    whole: NDArray[np.float64] = density / density.sum(axis=1, keepdims=True)
    return whole


def pairs_of(names: Sequence[str], chances: Sequence[NDArray[np.float64]]) -> tuple[tuple[Pair, ...], ...]:
    """Return all pairs for each rate; Holm's method over all of them together.

    Parameters
    ----------
    names
        Suppliers in the order of the rows.
    chances
        One array of `pair_chances` for each rate.
    """
    places = list(combinations(range(len(names)), 2))
    tails = [2 * min(float(each[i, j]), float(each[j, i])) for each in chances for i, j in places]
    adjusted = iter(holm(tails))
    return tuple(
        tuple(Pair(names[i], names[j], float(each[i, j]), next(adjusted)) for i, j in places) for each in chances
    )


def groups_of(names: Sequence[str], means: Sequence[float], pairs: Sequence[Pair]) -> tuple[tuple[str, ...], ...]:
    """Return the largest groups of suppliers that cannot be told apart; one supplier may stand in several.

    Inside a group the order is that of the alphabet: there is no better and worse in it. With one group, nothing can be
    told apart at all.
    """
    order = [name for _, name in sorted(zip(means, names, strict=True))]
    apart = {frozenset((pair.first, pair.second)) for pair in pairs if pair.differ}
    groups: list[tuple[str, ...]] = []
    end = 0
    for start in range(len(order)):
        reach = _reach(order, start, apart)
        if reach > end:
            groups.append(tuple(sorted(order[start:reach])))
            end = reach
    return tuple(groups)


def _reach(order: Sequence[str], start: int, apart: set[frozenset[str]]) -> int:
    end = start + 1
    while end < len(order) and not any(frozenset((each, order[end])) in apart for each in order[start:end]):
        end += 1
    return end
