"""The two joints of a fitted bearing as Lamé cylinders, and the materials of their bodies."""

from __future__ import annotations

from screener.errors import WrongUsage
from screener.metrology.fits.case import SeatGiven
from screener.metrology.fits.lame import Joint, Stiffness
from screener.metrology.fits.raceway import Raceways
from screener.metrology.fits.span import Span
from screener.specs.boundary import BoundaryRow
from screener.specs.fit_materials import MaterialRow, material, materials
from screener.specs.fit_tables import Seat

RING_MATERIAL = "bearing steel"
_THICK = 1000.0
"""A housing whose wall is not told is taken as thick: so many times the bore."""


def known_material(name: str, where: str) -> MaterialRow:
    """Return the material's row.

    Raises
    ------
    WrongUsage
        Not in the table.
    """
    found = material(name)
    if found is None:
        known = ", ".join(row.material for row in materials())
        raise WrongUsage(
            f"“{name}” is not known as a material.",
            where=where,
            next_step=f"Known: {known}. A new one is a row in fit_materials.csv.",
            code="material",
        )
    return found


def alpha_per_k(row: MaterialRow) -> Span:
    """Return the expansion per kelvin."""
    return Span(row.alpha_low_1e6_per_k * 1e-6, row.alpha_high_1e6_per_k * 1e-6)


def _stiffness(row: MaterialRow) -> Stiffness:
    return Stiffness(row.youngs_gpa, row.poisson)


def _check_wall(seat: Seat, row: BoundaryRow, wall_mm: float | None) -> None:
    if wall_mm is None:
        return
    # NaN fails the comparisons too.
    good = 0 <= wall_mm < row.bore_mm if seat == "shaft" else row.od_mm < wall_mm < row.od_mm * _THICK
    if not good:
        what, rule = (
            ("The bore of the hollow shaft", "smaller than the shaft")
            if seat == "shaft"
            else (
                "The outside of the housing",
                "larger than its bore",
            )
        )
        size_mm = row.bore_mm if seat == "shaft" else row.od_mm
        raise WrongUsage(
            f"{what} has to be {rule}, {size_mm:g} mm; with {wall_mm:g} mm the two do not lie inside each other.",
            where=seat,
            next_step="Leave it out for a solid shaft or a thick housing.",
            code="diameters",
        )


def joint(seat: Seat, row: BoundaryRow, where: Raceways, given: SeatGiven) -> Joint:
    """Return the joint of a seat with its ring; the ring ends at the raceway.

    Raises
    ------
    WrongUsage
        Walls that do not lie inside each other; a material that is not known.
    """
    _check_wall(seat, row, given.wall_mm)
    body, ring = _stiffness(known_material(given.material, seat)), _stiffness(known_material(RING_MATERIAL, seat))
    if seat == "shaft":
        return Joint(given.wall_mm or 0.0, row.bore_mm, where.inner_mm, body, ring)
    outside_mm = given.wall_mm if given.wall_mm is not None else row.od_mm * _THICK
    return Joint(where.outer_mm, row.od_mm, outside_mm, ring, body)
