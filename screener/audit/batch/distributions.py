"""Student's t, chi-square and Fisher's exact test, as far as a batch needs them; the tests hold them against scipy."""

from __future__ import annotations

from collections.abc import Callable
from math import comb, exp, lgamma, log

_TINY = 1e-300
_STEPS = 500
_ENOUGH = 1e-15


def t_two_sided(t: float, freedom: float) -> float:
    """Return the probability of a Student t at least as far from zero as ``t``."""
    return beta_cdf(freedom / (freedom + t * t), freedom / 2, 0.5)


def chi_square_quantile(share: float, freedom: float) -> float:
    """Return the value that a chi-square with ``freedom`` degrees of freedom stays below with probability ``share``."""
    return _bisect(lambda x: gamma_cdf(x / 2, freedom / 2), share, freedom + 20 * (2 * freedom) ** 0.5 + 100)


def fisher_two_sided(a: int, b: int, c: int, d: int) -> float:
    """Return Fisher's exact p for the table ((a, b), (c, d)): tables no likelier than the one seen."""
    row, column, total = a + b, a + c, a + b + c + d
    ways = [
        comb(column, k) * comb(total - column, row - k)
        for k in range(max(0, row + column - total), min(row, column) + 1)
    ]
    seen = comb(column, a) * comb(total - column, row - a)
    return sum(each for each in ways if each <= seen) / comb(total, row)


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the regularised incomplete beta function (continued fraction, Abramowitz and Stegun 26.5.8)."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_cdf(1 - x, b, a)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1 - x)) / a

    def term(m: int) -> float:
        half, odd = divmod(m, 2)
        if odd:
            return -(a + half) * (a + b + half) * x / ((a + m - 1) * (a + m))
        return half * (b - half) * x / ((a + m - 1) * (a + m))

    return front / _fraction(term)


def gamma_cdf(x: float, a: float) -> float:
    """Return the regularised lower incomplete gamma function (series, Abramowitz and Stegun 6.5.29)."""
    if x <= 0:
        return 0.0
    if x > a + 40 * (a**0.5 + 1):
        return 1.0
    total = term = 1 / a
    for n in range(1, 100 * _STEPS):
        term *= x / (a + n)
        total += term
        if term < total * _ENOUGH:
            break
    return min(1.0, total * exp(a * log(x) - x - lgamma(a)))


def _fraction(term: Callable[[int], float]) -> float:
    """Return 1 + t1/(1 + t2/(1 + …)) by Lentz's method."""
    value = ratio_c = 1.0
    ratio_d = 0.0
    for m in range(1, _STEPS):
        ratio_d = 1 / ((1 + term(m) * ratio_d) or _TINY)
        ratio_c = (1 + term(m) / ratio_c) or _TINY
        value *= ratio_c * ratio_d
        if abs(ratio_c * ratio_d - 1) < _ENOUGH:
            break
    return value


def _bisect(cdf: Callable[[float], float], share: float, high: float) -> float:
    low = 0.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if cdf(middle) < share else (low, middle)
    return (low + high) / 2
