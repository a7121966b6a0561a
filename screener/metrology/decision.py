"""The ISO 14253-1 decision: conforms, does not conform, or this instrument can't tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.metrology.estimate import Estimate

Verdict = Literal["conforms", "does_not_conform", "cannot_tell"]

_HAIR_MM = 1e-9
"""Rounding of the arithmetic: a value exactly on a zone's limit counts as on it."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Specification limits in mm and the row they come from."""

    lower_mm: float
    upper_mm: float
    rests_on: str


def decide(estimate: Estimate, limits: Limits) -> Verdict:
    """Return the decision for a measured dimension against limits.

    Conformity is proven only inside the limits narrowed by the uncertainty, non-conformity only outside the limits
    widened by it (ISO 14253-1, default rule). A value on the edge of the narrowed zone conforms; one on the edge of
    the widened zone is undecided.

    A small bore is never called too small from jaws that read small bores short: by how much they do is not known well
    enough to prove anything.
    """
    verdict = decide_interval(estimate.lowest_mm, estimate.highest_mm, limits)
    if verdict == "does_not_conform" and estimate.may_read_short and estimate.mean_mm < limits.lower_mm:
        return "cannot_tell"
    return verdict


def decide_interval(lowest_mm: float, highest_mm: float, limits: Limits) -> Verdict:
    """Return the decision when the true value lies anywhere from ``lowest_mm`` to ``highest_mm``."""
    if lowest_mm >= limits.lower_mm - _HAIR_MM and highest_mm <= limits.upper_mm + _HAIR_MM:
        return "conforms"
    if highest_mm < limits.lower_mm - _HAIR_MM or lowest_mm > limits.upper_mm + _HAIR_MM:
        return "does_not_conform"
    return "cannot_tell"
