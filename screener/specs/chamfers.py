"""Chamfer limits (ISO 582): how large the chamfer of a ring may be, and the shaft fillet it still clears."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Literal

from screener.specs.ranges import in_range
from screener.specs.table import Row, read_rows

TABLE = "iso582_chamfers.csv"


@dataclass(frozen=True, slots=True)
class ChamferRow:
    """Largest chamfer for a smallest one, in mm."""

    bearing: str
    """``radial`` or ``tapered``."""
    r_min_mm: float
    bore_over_mm: float
    bore_up_to_mm: float
    r_max_radial_mm: float
    r_max_axial_mm: float
    shaft_fillet_max_mm: float
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.bearing}, r {self.r_min_mm:g} ({self.source})"


def _read(row: Row) -> ChamferRow:
    return ChamferRow(
        bearing=row.text("bearing"),
        r_min_mm=row.positive("r_min_mm"),
        bore_over_mm=row.maybe_number("bore_over_mm") or 0.0,
        bore_up_to_mm=row.maybe_number("bore_up_to_mm") or inf,
        r_max_radial_mm=row.positive("r_max_radial_mm"),
        r_max_axial_mm=row.positive("r_max_axial_mm"),
        shaft_fillet_max_mm=row.positive("shaft_fillet_max_mm"),
        source=row.text("source"),
    )


@cache
def chamfer_rows() -> tuple[ChamferRow, ...]:
    """Return the whole table in file order."""
    needed = ("bearing", "r_min_mm", "r_max_radial_mm", "r_max_axial_mm", "shaft_fillet_max_mm", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


def chamfer(bearing: Literal["radial", "tapered"], r_min_mm: float, bore_mm: float) -> ChamferRow | None:
    """Return the chamfer limits for a smallest chamfer and bore, or None outside the table."""
    for row in chamfer_rows():
        if (row.bearing, row.r_min_mm) == (bearing, r_min_mm) and in_range(
            bore_mm, row.bore_over_mm, row.bore_up_to_mm
        ):
            return row
    return None
