"""How much interference keeps a loaded ring from creeping on its shaft."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screener.metrology.fits.span import Span
from screener.specs.boundary import BoundaryRow

RESTS_ON = "fits catalogue: 0.08 sqrt(d Fr/B) to 0.3 C0, 0.02 Fr/B above; 0.0015 d dT for a warm ring"


@dataclass(frozen=True, slots=True)
class Creep:
    """Interference needed and there, in micrometres."""

    needed_um: Span
    says: str
    rests_on: str = RESTS_ON


def needed_by_load_um(bore_mm: float, width_mm: float, radial_load_n: float) -> Span:
    """Return the effective interference a radial load asks for.

    The rule changes at 0.3 of the static rating, which no table here holds: the range covers both branches.
    """
    light = 0.08 * math.sqrt(bore_mm * radial_load_n / width_mm)
    heavy = 0.02 * radial_load_n / width_mm
    return Span(light, max(light, heavy))


def creep(row: BoundaryRow, effective_um: Span, radial_load_n: float, warmer_k: float | None) -> Creep:
    """Compare what a load (and a ring warmer than its surroundings by ``warmer_k``) needs with what is there."""
    needed = needed_by_load_um(row.bore_mm, row.width_mm, radial_load_n)
    if warmer_k is not None:
        lost = 0.0015 * row.bore_mm * max(0.0, warmer_k)
        needed = Span(needed.low + lost, needed.high + lost)
    numbers = f"{needed.low:.1f} to {needed.high:.1f} µm needed against creep, {effective_um.low:.1f} to "
    numbers = f"{numbers}{effective_um.high:.1f} µm effective"
    if effective_um.low >= needed.high:
        return Creep(needed, f"The ring will not creep under this load: {numbers}.")
    if effective_um.high < needed.low:
        return Creep(needed, f"The ring may creep under this load: {numbers}; a tighter class is needed.")
    return Creep(needed, f"Whether the ring creeps under this load can't be told: {numbers}.")
