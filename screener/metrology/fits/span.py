"""A quantity known only within a range: every number of a fit is one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from screener.errors import WrongUsage


@dataclass(frozen=True, slots=True)
class Span:
    """A closed range in one unit, ``low`` to ``high``; the unit stands in the name of the field that holds it."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high)) or self.low > self.high:
            raise WrongUsage(
                f"{self.low:g} to {self.high:g} is no range.",
                next_step="Give the smaller number first.",
                code="range",
            )

    @property
    def middle(self) -> float:
        """Half way."""
        return (self.low + self.high) / 2

    @property
    def half(self) -> float:
        """Half of the width."""
        return (self.high - self.low) / 2

    def __add__(self, other: Span) -> Span:
        return Span(self.low + other.low, self.high + other.high)

    def __sub__(self, other: Span) -> Span:
        return Span(self.low - other.high, self.high - other.low)

    def scaled(self, factor: float) -> Span:
        """Return the range times a number, which may be negative."""
        return Span(*sorted((self.low * factor, self.high * factor)))

    def times(self, other: Span) -> Span:
        """Return the range of the products."""
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Span(min(ends), max(ends))

    def above_zero(self) -> Span:
        """Return the range with everything below zero taken as zero."""
        return Span(max(0.0, self.low), max(0.0, self.high))

    def around(self, other: Span) -> Span:
        """Return the range that holds both."""
        return Span(min(self.low, other.low), max(self.high, other.high))


ZERO = Span(0.0, 0.0)


def exactly(value: float) -> Span:
    """Return a range of no width."""
    return Span(value, value)


def widest_sum(parts: Iterable[Span]) -> Span:
    """Return the sum when all parts are at their worst at once."""
    total = ZERO
    for part in parts:
        total = total + part
    return total


def probable_sum(parts: Iterable[Span]) -> Span:
    """Return the sum's probable range: middles added, half-widths added in squares.

    This is how lists of fits print "probable" interference (checked against such a list in the tests).
    """
    chosen = tuple(parts)
    middle = sum(part.middle for part in chosen)
    half = math.sqrt(sum(part.half**2 for part in chosen))
    return Span(middle - half, middle + half)
