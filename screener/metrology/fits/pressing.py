"""Pressure in the joint, stress in the ring, and the force a press will show."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.fits.interference import Interference
from screener.metrology.fits.lame import Joint, hoop_stress_mpa, pressure_mpa
from screener.metrology.fits.span import Span
from screener.specs.boundary import BoundaryRow
from screener.specs.fit_materials import friction_rows

HOOP_LIMIT_MPA = 127.0
"""Largest hoop stress of a fitted ring (the fits catalogue)."""
STRAIN_LIMITS = Span(0.7e-3, 1.0e-3)
"""Largest interference as a share of the diameter: 0.7 in 1000 by one list, 1 in 1000 by another."""


PULLING = "pulling off"
"""The row of the friction table that is no state for pressing on."""


@dataclass(frozen=True, slots=True)
class Pressing:
    """What pressing one ring takes; force in newtons at the end of the stroke."""

    pressure_mpa: Span
    hoop_stress_mpa: Span
    force_n: Span
    pull_off_n: Span
    warnings: tuple[str, ...]
    rests_on: tuple[str, ...]


def pressing(joint: Joint, found: Interference, row: BoundaryRow, state: str) -> Pressing | None:
    """Return force and pressure of a joint; None where there is no interference.

    The force is friction x pressure x contact area. Its low end counts the chamfers off the width and the smoothing off
    the interference, its high end neither.

    Raises
    ------
    WrongUsage
        The state of the seat (``oiled``, ``dry``) is not in the table.
    """
    if found.probable_um.high <= 0:
        return None
    high_um = found.probable_um.high
    pressures = Span(pressure_mpa(joint, found.effective_um.low), pressure_mpa(joint, high_um))
    area = _area_mm2(joint.joint_mm, row)
    pushing, pulling = friction_of(state), _row_of(PULLING)
    return Pressing(
        pressure_mpa=pressures,
        hoop_stress_mpa=Span(hoop_stress_mpa(joint, found.effective_um.low), hoop_stress_mpa(joint, high_um)),
        force_n=pressures.times(area).times(pushing[0]),
        pull_off_n=pressures.times(area).times(pulling[0]),
        warnings=_warnings(joint, found),
        rests_on=(pushing[1], pulling[1], "Lamé, plane stress"),
    )


def _area_mm2(diameter_mm: float, row: BoundaryRow) -> Span:
    width_mm = row.width_mm
    narrow_mm = max(width_mm / 2, width_mm - 2 * (row.r_min_mm or 0.0))
    return Span(math.pi * diameter_mm * narrow_mm, math.pi * diameter_mm * width_mm)


def friction_of(state: str) -> tuple[Span, str]:
    """Return the friction of a seat when pressing, and its row.

    Raises
    ------
    WrongUsage
        The state (``oiled``, ``dry``) is not in the table.
    """
    known = [each.name for each in friction_rows() if each.name != PULLING]
    if state not in known:
        raise WrongUsage(
            f"“{state}” is not known as a state of the seat.", where="friction", next_step=f"Known: {', '.join(known)}."
        )
    return _row_of(state)


def _row_of(state: str) -> tuple[Span, str]:
    row = next(each for each in friction_rows() if each.name == state)
    return Span(row.low, row.high), row.row_name


def _warnings(joint: Joint, found: Interference) -> tuple[str, ...]:
    """The middle decides: the far end of an uncertain reading would raise an alarm on most usual fits."""
    warnings = []
    share = found.probable_um.middle / 1000 / joint.joint_mm
    if share > STRAIN_LIMITS.low:
        named = "over" if share > STRAIN_LIMITS.high else "between the lists' limits,"
        warnings.append(
            f"interference of {share * 1000:.2f} in 1000 of the diameter: {named} 0.7 to 1 (fits catalogue)"
        )
    stress = hoop_stress_mpa(joint, found.probable_um.middle)
    if stress > HOOP_LIMIT_MPA:
        warnings.append(f"hoop stress about {stress:.0f} MPa is over {HOOP_LIMIT_MPA:.0f} MPa (fits catalogue)")
    return tuple(warnings)
