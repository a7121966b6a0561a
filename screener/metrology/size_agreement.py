"""Is it this size at all? A coarser question than the tolerance, and the one a caliper answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from screener.metrology.decision import Limits, decide_interval
from screener.metrology.estimate import Estimate, estimate
from screener.metrology.reading import Reading
from screener.specs.instruments import Use

SizeVerdict = Literal["agrees", "differs", "cannot_tell"]

SMALLEST_STEP_MM = 0.5
"""Neighbouring standard sizes are hardly ever closer than this; an instrument coarser than it can't tell them apart."""

SLACK_MM = 0.05
"""Dirt, a burr or light wear on a part of the right size (judgement)."""


@dataclass(frozen=True, slots=True)
class SizeAgreement:
    """Whether readings belong to a nominal size."""

    nominal_mm: float
    verdict: SizeVerdict
    estimate: Estimate
    says: str


def size_agreement(
    nominal_mm: float,
    readings: Reading | Sequence[Reading],
    *,
    use: Use = "outside",
    below_mm: float = 0.0,
    above_mm: float = 0.0,
) -> SizeAgreement:
    """Say whether readings agree with a nominal size.

    Parameters
    ----------
    nominal_mm
        Nominal dimension.
    readings
        One reading or several of the same dimension.
    use
        ``outside``, ``inside`` (bores) or ``outside rubber``.
    below_mm, above_mm
        How far a good part of that size may lie below and above nominal (its tolerance), on top of `SLACK_MM`.

    Raises
    ------
    WrongUsage
        See `screener.metrology.estimate.estimate`.
    """
    sequence = (readings,) if isinstance(readings, Reading) else tuple(readings)
    found = estimate(sequence, use)
    verdict = agreement(nominal_mm, found, below_mm=below_mm, above_mm=above_mm)
    words = {"agrees": "agrees with", "differs": "is not", "cannot_tell": "is too coarse a reading to tell from"}
    says = f"{found.mean_mm:.2f} mm ({found.instrument}) {words[verdict]} a nominal {nominal_mm:g} mm"
    return SizeAgreement(nominal_mm, verdict, found, says)


def agreement(nominal_mm: float, found: Estimate, *, below_mm: float = 0.0, above_mm: float = 0.0) -> SizeVerdict:
    """Return whether a measured dimension belongs to a nominal size; see `size_agreement`."""
    band = Limits(nominal_mm - below_mm - SLACK_MM, nominal_mm + above_mm + SLACK_MM, "")
    if decide_interval(found.lowest_mm, found.highest_mm, band) == "does_not_conform":
        return "differs"
    too_coarse = found.below_mm + found.above_mm > SMALLEST_STEP_MM
    return "cannot_tell" if too_coarse else "agrees"
