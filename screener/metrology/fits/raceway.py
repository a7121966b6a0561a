"""Where the raceways of a bearing lie, closely enough for growth and heat."""

from __future__ import annotations

from dataclasses import dataclass

from screener.specs.boundary import BoundaryRow
from screener.specs.fit_tables import bearing_kind


@dataclass(frozen=True, slots=True)
class Raceways:
    """Diameters in mm of the inner ring's and the outer ring's raceway (approximate)."""

    inner_mm: float
    outer_mm: float
    rests_on: str


def raceways(row: BoundaryRow) -> Raceways:
    """Return the handbooks' approximation: (4d + D)/5 and (4D + d)/5 for balls, (3d + D)/4 and (3D + d)/4 for rollers.

    Source: the fits catalogue (its outer raceway for heat, its groove diameters for pressure); a supplier's page on
    fitting pressure prints the same for deep groove ball bearings.
    """
    parts = 5 if bearing_kind(row.family) == "ball" or row.family == "insert" else 4
    d, big = row.bore_mm, row.od_mm
    return Raceways(
        ((parts - 1) * d + big) / parts,
        ((parts - 1) * big + d) / parts,
        f"raceways taken at ({parts - 1}d + D)/{parts} and ({parts - 1}D + d)/{parts}",
    )
