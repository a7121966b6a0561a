"""Small uncertainty budgets after the GUM: named standard uncertainties, added in squares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import stdev

COVERAGE = 2.0
"""Coverage factor k of the expanded uncertainty (about 95 %), as ISO 14253-1 uses by default."""


@dataclass(frozen=True, slots=True)
class Component:
    """One line of the budget: a standard uncertainty (k = 1) and what it rests on."""

    name: str
    u: float
    rests_on: str


@dataclass(frozen=True, slots=True)
class Budget:
    """Independent components in one unit."""

    components: tuple[Component, ...]

    @property
    def u(self) -> float:
        """Combined standard uncertainty: the root of the sum of squares."""
        return math.sqrt(sum(part.u**2 for part in self.components))

    @property
    def expanded(self) -> float:
        """Expanded uncertainty U = k u."""
        return COVERAGE * self.u


def repeatability(values: Sequence[float]) -> Component | None:
    """Return the standard uncertainty of the mean of several readings, or None for a single one.

    Out-of-round widens it too: that is meant, the mean diameter is less well known then.
    """
    if len(values) < 2:
        return None
    u = stdev(values) / math.sqrt(len(values))
    return Component("repeatability", u, f"scatter of {len(values)} readings, s/√n (GUM 4.2)")
