"""Slips of the pen among readings: another unit, a point in the wrong place, two dimensions exchanged.

A reading that is plainly the right size in another unit is no part of another size, and no ground for a claim.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from screener.errors import WrongUsage
from screener.metrology.length_text import inches_hint
from screener.specs.masses import mass_range

_NEAR = 0.05
"""As near as this to the size that is asked for a reading in another unit is taken for a slip (judgement)."""


def refuse_slips(lengths: Mapping[str, tuple[Sequence[float], float | None]]) -> None:
    """Refuse lengths that are what is asked for, but in another unit or under each other's name.

    Parameters
    ----------
    lengths
        By name (``bore``): readings in mm, and the size asked for in mm or None where it is not known.

    Raises
    ------
    WrongUsage
        Naming the reading and what it looks like.
    """
    known = {name: (values, size_mm) for name, (values, size_mm) in lengths.items() if size_mm}
    _refuse_exchanged(known)
    for name, (values, size_mm) in known.items():
        for value in values:
            looks = inches_hint(value, size_mm, _NEAR) or _point_hint(value, size_mm)
            if looks:
                raise WrongUsage(
                    f"{value:g} mm beside a nominal {size_mm:g} mm looks like a slip.",
                    where=name,
                    next_step=looks.strip(),
                    code="slip",
                )


def _point_hint(value: float, size_mm: float) -> str:
    for factor, named in ((10.0, "It looks like centimetres, or the point slipped"), (0.1, "The point slipped")):
        if _near(value * factor, size_mm):
            return f"{named}: write {value * factor:g} mm."
    return ""


def _refuse_exchanged(lengths: Mapping[str, tuple[Sequence[float], float]]) -> None:
    names = [name for name, (values, _) in lengths.items() if values]
    for one, other in ((a, b) for a in names for b in names if a < b):
        (first, first_mm), (second, second_mm) = lengths[one], lengths[other]
        crossed = all(_near(v, second_mm) for v in first) and all(_near(v, first_mm) for v in second)
        if crossed and not _near(first_mm, second_mm):
            raise WrongUsage(
                f"{one} and {other} look exchanged: {one} is {first_mm:g} mm, {other} {second_mm:g} mm.",
                next_step="Give each reading under its own name.",
                code="slip",
            )


def _near(value: float, size_mm: float) -> bool:
    # NaN fails the comparison.
    return abs(value - size_mm) <= _NEAR * size_mm


def refuse_kilograms(designation: str, masses_g: Sequence[float], closure_kind: str | None) -> None:
    """Refuse a mass in grams that is what the lists give in kilograms.

    Raises
    ------
    WrongUsage
        Naming the mass.
    """
    expected = mass_range(designation, closure_kind) if masses_g else None
    for mass_g in masses_g if expected is not None else ():
        if expected is not None and math.isfinite(mass_g) and expected.low_kg <= mass_g <= expected.high_kg:
            raise WrongUsage(
                f"{mass_g:g} g beside {designation} looks like a slip.",
                where="mass",
                next_step=f"It looks like kilograms: write the {1000 * mass_g:g} g.",
                code="slip",
            )
