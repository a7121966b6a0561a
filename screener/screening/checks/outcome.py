"""What a check returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.screening.model import Finding, NotChecked


@dataclass(frozen=True, slots=True)
class Checked:
    """Findings, gaps and agreements of one check."""

    findings: tuple[Finding, ...] = ()
    gaps: tuple[NotChecked, ...] = ()
    agreed: tuple[str, ...] = ()


def together(parts: Iterable[Checked]) -> Checked:
    """Several outcomes as one, in order."""
    kept = tuple(parts)
    return Checked(
        findings=tuple(f for c in kept for f in c.findings),
        gaps=tuple(g for c in kept for g in c.gaps),
        agreed=tuple(a for c in kept for a in c.agreed),
    )
