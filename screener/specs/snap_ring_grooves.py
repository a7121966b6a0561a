"""Snap-ring grooves in outer rings (ISO 464): where the groove lies and how large it is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.table import Row, read_rows

TABLE = "snap_ring_grooves.csv"


@dataclass(frozen=True, slots=True)
class GrooveRow:
    """One groove, in mm."""

    series: str
    """Dimension series 18 or 19, or the diameter series that share the row: ``0``, ``2 3 4``."""
    od_mm: float
    groove_diameter_mm: float
    """Largest diameter of the groove's floor."""
    land_max_mm: float
    """Largest distance from the side face to the groove."""
    width_min_mm: float
    snap_ring_diameter_mm: float
    """About the outside diameter of the snap ring in its groove."""
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: series {self.series}, D {self.od_mm:g} ({self.source})"


def _read(row: Row) -> GrooveRow:
    return GrooveRow(
        series=row.text("series"),
        od_mm=row.positive("od_mm"),
        groove_diameter_mm=row.positive("groove_diameter_mm"),
        land_max_mm=row.positive("land_max_mm"),
        width_min_mm=row.positive("width_min_mm"),
        snap_ring_diameter_mm=row.positive("snap_ring_diameter_mm"),
        source=row.text("source"),
    )


@cache
def snap_ring_grooves() -> tuple[GrooveRow, ...]:
    """Return the whole table in file order.

    Raises
    ------
    InputUnreadable
        If the table cannot be read or a row of it is broken.
    """
    needed = ("series", "od_mm", "groove_diameter_mm", "land_max_mm", "width_min_mm", "snap_ring_diameter_mm", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


def widest_snap_ring_mm(od_mm: float) -> float | None:
    """Return the outside diameter of the largest snap ring for an outside diameter, or None where no row has it."""
    return max((row.snap_ring_diameter_mm for row in snap_ring_grooves() if row.od_mm == od_mm), default=None)
