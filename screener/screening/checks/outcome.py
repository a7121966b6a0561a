"""What a check returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.screening.model import Finding
from screener.specs.screening_rules import finding_kinds

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.screening.model import NotChecked, Observation, Weight


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


def suspicious(code: str, says: str, rests_on: str, *observations: Observation, weight: Weight = "question") -> Finding:
    """A finding on the question whether anything is suspect.

    Which indicator it speaks for stands in reference_specs/findings.toml; a note speaks for none.
    """
    return Finding(
        code=code,
        weight=weight,
        question="suspicion",
        says=says,
        rests_on=rests_on,
        observations=tuple(o.key for o in observations),
        indicator=None if weight == "note" else finding_kinds()[code].indicator,
    )
