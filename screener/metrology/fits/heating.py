"""Heating a bearing so that it drops on, its ceiling, and cooling the shaft instead or as well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.metrology.bearing import accuracy_class
from screener.metrology.fits.interference import Interference
from screener.metrology.fits.joints import RING_MATERIAL, alpha_per_k, known_material
from screener.metrology.fits.span import Span, exactly
from screener.parts.model import Explained
from screener.specs.fit_limits import HeatRow, heat_rows
from screener.specs.fit_materials import MaterialRow

SLIP_UM = 10.0
"""Play that lets a ring slip on without sticking (judgement; usual lists just say 80 to 90 K)."""
_FINE_CLASSES = {"5", "4", "2"}
DropsOn = Literal["yes", "perhaps", "no"]


@dataclass(frozen=True, slots=True)
class Heating:
    """Temperatures in °C for dropping a ring on its shaft."""

    needed_c: Span
    """Low end: a likely ring just free. High end: the tightest likely ring with play to slip."""
    ceiling_c: Span
    """The lowest ceiling that applies, and the highest that lists give for the same thing."""
    drops_on: DropsOn
    """At the lowest ceiling."""
    cool_shaft_to_c: Span | None
    """With the ring at its ceiling; None where heat alone does it, or the cold needed is outside the table."""
    says: str
    rests_on: tuple[str, ...]


def ceilings(part: Explained) -> tuple[HeatRow, ...]:
    """Return every ceiling that applies to a bearing, lowest first. What is not known to be open counts as closed."""
    words = {"open"}
    if part.closure is None or part.closure.kind != "open" or part.second_closure is not None:
        words.add("closed")
    if part.cage == "polyamide":
        words.add("polyamide")
    if accuracy_class(part.accuracy or "") in _FINE_CLASSES:
        words.add("precision")
    return tuple(sorted((row for row in heat_rows() if row.applies_to in words), key=lambda row: row.ceiling_c))


def heating(
    part: Explained, diameter_mm: float, found: Interference, room_c: float, shaft: MaterialRow
) -> Heating | None:
    """Return how warm the ring must be to drop on; None where there is no interference.

    Parameters
    ----------
    part
        What the designation says: closure, cage and class set the ceiling.
    diameter_mm
        Of the seat.
    found
        Interference of the inner ring on the shaft.
    room_c
        Where the shaft lies.
    shaft
        What the shaft is made of.
    """
    if found.probable_um.high <= 0:
        return None
    alpha = alpha_per_k(known_material(RING_MATERIAL, "bearing"))
    likely_um = max(0.0, found.probable_um.middle)
    needed = Span(
        room_c + likely_um / 1000 / (alpha.high * diameter_mm),
        room_c + (found.probable_um.high + SLIP_UM) / 1000 / (alpha.low * diameter_mm),
    )
    rows = ceilings(part)
    same = [row.ceiling_c for row in rows if row.applies_to == rows[0].applies_to]
    ceiling = Span(min(same), max(same))
    # Half a degree is below what anybody sets or reads.
    drops: DropsOn = "yes" if needed.high < ceiling.low + 0.5 else "perhaps" if needed.low <= ceiling.low else "no"
    cold = None if drops == "yes" else _cold(needed.high - ceiling.low, room_c, shaft)
    return Heating(needed, ceiling, drops, cold, _says(needed, rows[0], drops, cold, shaft), _rests(rows))


def _cold(missing_k: float, room_c: float, shaft: MaterialRow) -> Span | None:
    """Shaft temperature that gives what heat cannot; None below what the material table covers."""
    ring, body = alpha_per_k(known_material(RING_MATERIAL, "bearing")), alpha_per_k(shaft)
    down = ring.times(exactly(missing_k)).times(Span(1 / body.high, 1 / body.low))
    to_c = Span(room_c - down.high, room_c - down.low)
    return None if to_c.low < shaft.lowest_c else to_c


def _says(needed: Span, first: HeatRow, drops: DropsOn, cold: Span | None, shaft: MaterialRow) -> str:
    want = f"{needed.low:.0f} to {needed.high:.0f} °C needed; ceiling {first.ceiling_c:.0f} °C ({first.what})"
    if drops == "yes":
        return f"Heat to {needed.high:.0f} °C and it drops on. {want}."
    at = f"At {first.ceiling_c:.0f} °C, the ceiling, "
    start = f"{at}it may drop on; expect to press lightly" if drops == "perhaps" else f"{at}it will not drop on: press"
    if cold is not None:
        return f"{start}, or cool the shaft to about {cold.low:.0f} °C as well. {want}."
    return f"{start}. {want}. Cooling the shaft enough is outside the table (down to {shaft.lowest_c:.0f} °C)."


def _rests(rows: tuple[HeatRow, ...]) -> tuple[str, ...]:
    return tuple(row.row_name for row in rows)
