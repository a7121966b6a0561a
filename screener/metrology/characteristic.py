"""One characteristic of a part, measured and decided: the answer that bearings and seals share."""

from __future__ import annotations

from dataclasses import dataclass

from screener.metrology.decision import Limits, Verdict
from screener.metrology.estimate import Estimate
from screener.metrology.size_agreement import SizeVerdict


@dataclass(frozen=True, slots=True)
class Decision:
    """One characteristic, measured and decided."""

    characteristic: str
    """``bore``, ``outside diameter``, ``free outside diameter`` or ``width``."""
    nominal_mm: float
    estimate: Estimate
    limits: Limits | None
    """None where no table row judges this characteristic; ``says`` tells why."""
    verdict: Verdict
    size: SizeVerdict
    """Whether it is this nominal size at all."""
    says: str
    rests_on: str
    """The table row of the limits, or the boundary row where there are none."""
