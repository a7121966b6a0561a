"""Limit deviations of shafts and holes by ISO 286, up to 500 mm.

Computed from two tables (grades and fundamental deviations) by the standard's rules: hole letters mirror the shaft
letters, and K, M, N up to grade 8 and P and tighter up to grade 7 are shifted by Delta = IT(n) - IT(n-1).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.errors import WrongUsage
from screener.specs.ranges import in_range
from screener.specs.table import read_rows

GRADES_TABLE = "iso286_grades.csv"
DEVIATIONS_TABLE = "iso286_deviations.csv"

_ZONE = re.compile(r"(js|JS|[a-zA-Z])(\d{1,2})")
_SPAN = tuple[float, float]
_UP_TO_GRADE_8 = "KMN"


@dataclass(frozen=True, slots=True)
class Deviation:
    """Limit deviations of one tolerance zone at one size, in micrometres from nominal."""

    zone: str
    size_mm: float
    upper_um: float
    lower_um: float
    rests_on: str


@cache
def _grades() -> Mapping[_SPAN, Mapping[int, float]]:
    table: dict[_SPAN, Mapping[int, float]] = {}
    for row in read_rows(GRADES_TABLE, ("over_mm", "up_to_mm", "it6_um", "source")):
        names = [name for name in row.cells if name.startswith("it") and name.endswith("_um")]
        values = {int(name[2:-3]): row.positive(name) for name in names}
        table[row.number("over_mm"), row.positive("up_to_mm")] = MappingProxyType(values)
    return MappingProxyType(table)


@cache
def _deviations() -> Mapping[str, tuple[tuple[float, float, float], ...]]:
    table: dict[str, list[tuple[float, float, float]]] = {}
    for row in read_rows(DEVIATIONS_TABLE, ("letter", "over_mm", "up_to_mm", "side", "deviation_um", "source")):
        span = (row.number("over_mm"), row.positive("up_to_mm"), row.number("deviation_um"))
        table.setdefault(row.text("letter"), []).append(span)
    return MappingProxyType({letter: tuple(spans) for letter, spans in table.items()})


def standard_tolerance_um(size_mm: float, grade: int) -> float | None:
    """Return the standard tolerance IT(grade) at a size in micrometres, or None outside the table."""
    for (over_mm, up_to_mm), values in _grades().items():
        if in_range(size_mm, over_mm, up_to_mm):
            return values.get(grade)
    return None


def _fundamental_um(letter: str, size_mm: float) -> float | None:
    for over_mm, up_to_mm, value in _deviations().get(letter, ()):
        if in_range(size_mm, over_mm, up_to_mm):
            return value
    return None


def _shaft(letter: str, grade: int, size_mm: float, it_um: float) -> tuple[float, float] | None:
    if letter == "js":
        return it_um / 2, -it_um / 2
    if letter == "h":
        return 0.0, -it_um
    value = _fundamental_um(f"j{grade}" if letter == "j" else letter, size_mm)
    if value is None:
        return None
    if letter in "defg":
        return value, value - it_um
    if letter == "k" and not 4 <= grade <= 7:
        value = 0.0
    return value + it_um, value


def _hole(letter: str, grade: int, size_mm: float, it_um: float) -> tuple[float, float] | None:
    if letter == "J":
        upper = _fundamental_um(f"J{grade}", size_mm)
        return None if upper is None else (upper, upper - it_um)
    if letter in {"H", "JS"} or letter in "DEFG":
        mirror = _shaft(letter.lower(), grade, size_mm, it_um)
        return None if mirror is None else (-mirror[1], -mirror[0])
    upper = _tight_hole_upper(letter, grade, size_mm, it_um)
    return None if upper is None else (upper, upper - it_um)


def _tight_hole_upper(letter: str, grade: int, size_mm: float, it_um: float) -> float | None:
    """Upper deviation ES of K, M, N, P and tighter holes."""
    value = _fundamental_um(letter.lower(), size_mm)
    if value is None:
        return None
    if letter == "N" and grade > 8:
        return 0.0 if size_mm > 3 else -value
    finer_um = standard_tolerance_um(size_mm, grade - 1)
    shifted = grade <= (8 if letter in _UP_TO_GRADE_8 else 7)
    if not shifted or size_mm <= 3:
        return -value
    if finer_um is None:
        return None
    upper = -value + it_um - finer_um
    # ISO 286-1 rounds this one cell by hand: M6 over 250 to 315 is -9, not -11.
    return -9.0 if (letter, grade) == ("M", 6) and in_range(size_mm, 250, 315) else upper


def limit_deviations(size_mm: float, zone: str) -> Deviation:
    """Return the limit deviations of a tolerance zone at a nominal size.

    Parameters
    ----------
    size_mm
        Nominal size, over 0 up to and including 500 mm.
    zone
        Letter and grade, ``k6`` for a shaft, ``H7`` for a hole.

    Raises
    ------
    WrongUsage
        If the zone cannot be read or the tables do not hold it at that size.
    """
    match = _ZONE.fullmatch(zone.strip())
    if match is None:
        raise WrongUsage(
            f"“{zone}” is no tolerance zone.", next_step="Write a letter and a grade: k6, H7.", code="zone"
        )
    letter, grade = match[1], int(match[2])
    it_um = standard_tolerance_um(size_mm, grade)
    limits = None
    if it_um is not None:
        limits = (_hole if letter[0].isupper() else _shaft)(letter, grade, size_mm, it_um)
    if limits is None:
        raise WrongUsage(
            f"The tables do not hold {zone} at {size_mm:g} mm.",
            next_step="Sizes to 500 mm, letters d to s, grades 4 to 12 are held.",
            code="zone",
        )
    rests_on = f"ISO 286: {GRADES_TABLE}, {DEVIATIONS_TABLE}"
    return Deviation(letter + match[2], size_mm, limits[0] + 0.0, limits[1] + 0.0, rests_on)
