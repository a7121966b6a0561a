"""The standards' way of writing size ranges: over the first number, up to and including the second."""

from __future__ import annotations


def in_range(size_mm: float, over_mm: float, up_to_mm: float) -> bool:
    """Return whether a size lies over ``over_mm`` and up to and including ``up_to_mm`` (bore 30 is in 18 to 30)."""
    return over_mm < size_mm <= up_to_mm
