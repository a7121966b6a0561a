"""Rates of rare things with their intervals, small numbers shown as small, and the prior that suppliers share.

Two intervals stand side by side: one from a supplier's own items alone (Jeffreys: Brown, Cai and DasGupta, "Interval
Estimation for a Binomial Proportion", Statistical Science 16, 2001), and one that also uses what the other suppliers
are like (beta-binomial: a supplier's rate comes from a beta distribution that all of them share). The shared prior is
shown with the answer: so many percent, worth so many items.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from screener.audit.batch.distributions import beta_cdf

COVER = 0.95
_MEANS = 80
_WORTHS = 40
_WORTH_FROM, _WORTH_TO = 2.0, 500.0
"""A prior worth fewer than two items says nothing, one worth more than 500 silences every supplier of a small shop."""
_LEAST_SUCCESSES = 0.2
_SPREAD_FREEDOM = 5
_SHIFT = 10


@dataclass(frozen=True, slots=True)
class Span:
    """An interval of a rate, 0 to 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Count:
    """So many of so many items."""

    count: int
    items: int


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected of a supplier before its own items are seen: a rate, worth so many items."""

    mean: float
    worth_items: float

    @property
    def alpha(self) -> float:
        """First parameter of the beta distribution."""
        return max(_LEAST_SUCCESSES, self.mean * self.worth_items)

    @property
    def beta(self) -> float:
        """Second parameter of the beta distribution."""
        return max(_LEAST_SUCCESSES, (1.0 - self.mean) * self.worth_items)


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate with what its own items say, and what they say together with the other suppliers'."""

    count: int
    items: int
    own: Span
    shared_mean: float
    shared: Span


@cache
def beta_quantile(share: float, a: float, b: float) -> float:
    """Return the value that a beta distribution stays below with probability ``share`` (Newton, held by bisection)."""
    low, high, at = 0.0, 1.0, a / (a + b)
    for _ in range(200):
        beyond = beta_cdf(at, a, b) - share
        low, high = (low, at) if beyond > 0 else (at, high)
        slope = math.exp((a - 1) * math.log(at) + (b - 1) * math.log1p(-at) + _log_scale(a, b))
        step = at - beyond / slope if slope > 0 else -1.0
        following = step if low < step < high else (low + high) / 2
        if abs(following - at) <= 1e-11 * at:
            break
        at = following
    return at


def _log_scale(a: float, b: float) -> float:
    return math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)


def own_span(count: int, items: int) -> Span:
    """Return the Jeffreys interval at 95 %; none seen reaches down to 0, all seen up to 1, no items from 0 to 1."""
    if items == 0:
        return Span(0.0, 1.0)
    tail = (1.0 - COVER) / 2
    a, b = count + 0.5, items - count + 0.5
    low = 0.0 if count == 0 else beta_quantile(tail, a, b)
    high = 1.0 if count == items else beta_quantile(1.0 - tail, a, b)
    return Span(low, high)


def shared_prior(counts: Sequence[tuple[float, float]]) -> Prior:
    """Return the prior that the suppliers' own counts suggest.

    Parameters
    ----------
    counts
        (count, items) of each supplier; fractions are allowed (see `spread`).

    Notes
    -----
    Mean of the posterior over a row of means (flat in the mean, which is Bayes' own choice) and worths (flat in the
    logarithm, 2 to 500 items), averaged on the scales of log-odds and logarithm.
    """
    means = (np.arange(_MEANS) + 0.5) / _MEANS
    # Closer together where rates of a shop lie: below a few percent.
    means = means**2
    width = 2 * np.sqrt(means)
    worths = np.geomspace(_WORTH_FROM, _WORTH_TO, _WORTHS)
    weight = np.log(width)[:, None] + _log_likelihood(counts, means[:, None], worths[None, :])
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    odds = float((weight.sum(axis=1) * np.log(means / (1.0 - means))).sum())
    worth = float(np.exp((weight.sum(axis=0) * np.log(worths)).sum()))
    return Prior(1.0 / (1.0 + math.exp(-odds)), worth)


def _log_likelihood(
    counts: Sequence[tuple[float, float]], mean: NDArray[np.float64], worth: NDArray[np.float64]
) -> NDArray[np.float64]:
    a, b = mean * worth, (1.0 - mean) * worth
    total = -len(counts) * _log_beta(a, b)
    for count, items in counts:
        total = total + _log_beta(a + count, b + items - count)
    return total


def _log_beta(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    return log_gamma(a) + log_gamma(b) - log_gamma(a + b)


def log_gamma(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return ln Γ(x) for x > 0: Stirling's series (Abramowitz and Stegun 6.1.41), ten steps up where it is exact."""
    up = x + _SHIFT
    series = (1 / 12 - (1 / 360 - 1 / (1260 * up**2)) / up**2) / up
    down = np.log(np.multiply.reduce([x + step for step in range(_SHIFT)]))
    found: NDArray[np.float64] = (up - 0.5) * np.log(up) - up + 0.5 * math.log(2 * math.pi) + series - down
    return found


def rate_of(count: Count, prior: Prior, spread: float = 1.0) -> Rate:
    """Return the rate of a supplier under the shared prior; ``spread`` takes items that came together for fewer."""
    a = prior.alpha + count.count / spread
    b = prior.beta + (count.items - count.count) / spread
    tail = (1.0 - COVER) / 2
    shared = Span(beta_quantile(tail, a, b), beta_quantile(1.0 - tail, a, b))
    return Rate(count.count, count.items, own_span(count.count, count.items), a / (a + b), shared)


def spread_of(deliveries: Sequence[Sequence[Count]]) -> float | None:
    """Return how many items of one delivery tell as much as one: Pearson's chi-square over its degrees of freedom.

    Items that come together are alike: one wrong box fails all its parts. 1 means that they tell as much as items
    that came apart; never below 1. None where too few deliveries are there to tell.

    Parameters
    ----------
    deliveries
        For each supplier the counts of its deliveries.
    """
    square, freedom = 0.0, 0
    for counts in deliveries:
        known = [each for each in counts if each.items]
        items = sum(each.items for each in known)
        rate = sum(each.count for each in known) / items if items else 0.0
        if len(known) < 2 or not 0.0 < rate < 1.0:
            continue
        square += sum((each.count - each.items * rate) ** 2 / (each.items * rate * (1 - rate)) for each in known)
        freedom += len(known) - 1
    return max(1.0, square / freedom) if freedom >= _SPREAD_FREEDOM else None
