"""Radial internal clearance of bearings with cylindrical bore, before fitting (ISO 5753-1)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.ranges import in_range
from screener.specs.table import Row, read_rows

TABLE = "iso5753_clearances.csv"

_TABLE_OF_FAMILY = {
    "deep groove ball": "deep groove ball",
    "flanged deep groove ball": "deep groove ball",
    "insert": "deep groove ball",
    "self-aligning ball": "self-aligning ball",
    "cylindrical roller": "cylindrical roller",
    "double row cylindrical roller": "cylindrical roller",
    "spherical roller": "spherical roller",
}


@dataclass(frozen=True, slots=True)
class ClearanceRow:
    """Least and greatest radial clearance in micrometres for a bore range and group."""

    bearing: str
    bore_over_mm: float
    bore_up_to_mm: float
    group: str
    """``C2``, ``CN``, ``C3``, ``C4`` or ``C5``."""
    min_um: float
    max_um: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        span = f"bore over {self.bore_over_mm:g} to {self.bore_up_to_mm:g} mm"
        return f"{TABLE}: {self.bearing}, {span}, {self.group} ({self.source})"


def _read(row: Row) -> ClearanceRow:
    return ClearanceRow(
        bearing=row.text("bearing"),
        bore_over_mm=row.number("bore_over_mm"),
        bore_up_to_mm=row.positive("bore_up_to_mm"),
        group=row.text("group"),
        min_um=row.number("min_um"),
        max_um=row.positive("max_um"),
        source=row.text("source"),
        note=row.maybe_text("note"),
    )


@cache
def clearance_rows() -> tuple[ClearanceRow, ...]:
    """Return the whole table in file order."""
    needed = ("bearing", "bore_over_mm", "bore_up_to_mm", "group", "min_um", "max_um", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


def clearance(family: str, bore_mm: float, group: str) -> ClearanceRow | None:
    """Return the clearance row of a family, bore and group, or None where the table has none."""
    table = _TABLE_OF_FAMILY.get(family)
    for row in clearance_rows():
        if (row.bearing, row.group) == (table, group) and in_range(bore_mm, row.bore_over_mm, row.bore_up_to_mm):
            return row
    return None
