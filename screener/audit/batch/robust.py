"""Location and spread that a few odd units cannot move.

Qn (Rousseeuw and Croux, "Alternatives to the median absolute deviation", J. Amer. Statist. Assoc. 88, 1993): the
first quartile of all distances between pairs; half of the units may be odd, and it needs no symmetry.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]

_MAD_TO_SD = 1.482602218505602
"""1 / 0.75-quantile of the normal distribution."""
_QN_TO_SD = 2.21914
"""1 / (sqrt(2) * 0.625-quantile of the normal distribution)."""
_QN_SMALL = {2: 0.399, 3: 0.994, 4: 0.512, 5: 0.844, 6: 0.611, 7: 0.857, 8: 0.669, 9: 0.872}
"""Factors for few units, Croux and Rousseeuw, "Time-efficient algorithms for two highly robust estimators", 1992."""
_BISECTIONS = 70


def median(values: Numbers) -> float:
    """Return the median."""
    return float(np.median(values))


def mad(values: Numbers) -> float:
    """Return the median absolute deviation, scaled to the standard deviation of a normal distribution."""
    return _MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))


def qn(values: Numbers) -> float:
    """Return Qn, scaled to the standard deviation of a normal distribution; 0 for fewer than two values."""
    n = len(values)
    if n < 2:
        return 0.0
    h = n // 2 + 1
    return _qn_factor(n) * _QN_TO_SD * _kth_distance(np.sort(values), h * (h - 1) // 2)


def spread(values: Numbers) -> float:
    """Return Qn, or the MAD where Qn is zero because a quarter of all pairs are tied."""
    return qn(values) or mad(values)


def _qn_factor(n: int) -> float:
    if n in _QN_SMALL:
        return _QN_SMALL[n]
    return n / (n + 1.4) if n % 2 else n / (n + 3.8)


def _kth_distance(ordered: Numbers, k: int) -> float:
    """Return the k-th smallest distance between two of the sorted values, without forming all pairs."""
    low, high = 0.0, float(ordered[-1] - ordered[0])
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        if _pairs_within(ordered, middle) >= k:
            high = middle
        else:
            low = middle
    return high


def _pairs_within(ordered: Numbers, distance: float) -> int:
    reach = np.searchsorted(ordered, ordered + distance, side="right")
    return int(np.sum(reach - np.arange(1, len(ordered) + 1)))
