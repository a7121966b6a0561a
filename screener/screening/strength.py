"""How much a sign says, in words and dB."""

from __future__ import annotations

from functools import cache

from screener.screening.weighing import decibels
from screener.specs.screening_rules import finding_kinds

WEAK_BELOW_DB = 5.0
STRONG_ABOVE_DB = 10.0
"""Words for one sign: weak below 5 dB, moderate to 10, strong above (judgement)."""
_NOTHING_DB = 0.05


def strength(db: float) -> str:
    """The word for one sign's ratio."""
    if abs(db) < _NOTHING_DB:
        return "says nothing"
    if db < WEAK_BELOW_DB:
        return "weak"
    return "moderate" if db <= STRONG_ABOVE_DB else "strong"


def ratio_says(ratio: float, low: float, high: float) -> str:
    """Say a ratio: ``moderate: seen about 6 times as often on bad items as on good ones (3 to 15; 5 to 12 dB)``."""
    if low == high == 1:
        return "says nothing about suspicion (seen as often on good items as on bad ones)"
    return (
        f"{strength(decibels(ratio))}: seen about {_short(ratio)} times as often on bad items as on good ones "
        f"({_short(low)} to {_short(high)}; {decibels(low):.0f} to {decibels(high):.0f} dB)"
    )


def _short(ratio: float) -> str:
    """Two digits at most: more would look like knowledge."""
    return f"{float(f'{ratio:.2g}'):g}"


@cache
def seen_by_tool() -> frozenset[str]:
    """Indicators that a finding of the tool speaks for; the others only a person can report."""
    return frozenset(k.indicator for k in finding_kinds().values() if k.indicator is not None)
