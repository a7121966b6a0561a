"""Many tests at once: how often chance alone would alarm is kept in hand."""

from __future__ import annotations

from collections.abc import Sequence


def benjamini_hochberg(p_values: Sequence[float]) -> list[float]:
    """Return adjusted p-values: calling all below q significant gives at most a share q of false calls on average.

    Benjamini and Hochberg, "Controlling the false discovery rate", J. R. Statist. Soc. B 57, 1995.
    """
    adjusted = [0.0] * len(p_values)
    lowest = 1.0
    order = sorted(range(len(p_values)), key=lambda index: p_values[index], reverse=True)
    for place, index in enumerate(order):
        rank = len(p_values) - place
        lowest = min(lowest, p_values[index] * len(p_values) / rank)
        adjusted[index] = lowest
    return adjusted


def holm(p_values: Sequence[float]) -> list[float]:
    """Return adjusted p-values: calling all below a significant errs with probability a at most, however they depend.

    Holm, "A simple sequentially rejective multiple test procedure", Scand. J. Statist. 6, 1979.
    """
    adjusted = [0.0] * len(p_values)
    highest = 0.0
    for place, index in enumerate(sorted(range(len(p_values)), key=lambda index: p_values[index])):
        highest = max(highest, min(1.0, p_values[index] * (len(p_values) - place)))
        adjusted[index] = highest
    return adjusted
