"""Boundary dimensions by designation: how big a bearing of that name must be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.specs.table import Row, read_rows

TABLE = "boundary_dimensions.csv"


@dataclass(frozen=True, slots=True)
class BoundaryRow:
    """One designation of the table.

    ``width_mm`` is B; T for tapered, H for thrust bearings, the inner ring's width for inserts.
    """

    designation: str
    """Canonical: upper case, no blanks (``6205``, ``618/500``, ``NU205``)."""
    family: str
    bore_mm: float
    """Bearings without inner ring: the diameter under the rollers."""
    od_mm: float
    width_mm: float
    r_min_mm: float | None
    source: str
    closed_width_mm: float | None = None
    """Width of the shielded or sealed bearing of the same number where it differs from the open one."""
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.designation} ({self.source})"

    @property
    def has_inner_ring(self) -> bool:
        """False where the rollers run on the shaft itself; the bore is then the diameter under the rollers."""
        return self.note is None or "no inner ring" not in self.note

    def width_for(self, *, closed: bool) -> float:
        """Return the width in mm of the open or the closed bearing of this number."""
        return self.closed_width_mm if closed and self.closed_width_mm is not None else self.width_mm


def _read(row: Row) -> BoundaryRow:
    bore_mm, od_mm = row.positive("bore_mm"), row.positive("od_mm")
    if bore_mm >= od_mm:
        raise row.broken("od_mm", f"The outside diameter {od_mm:g} is not larger than the bore {bore_mm:g}.")
    return BoundaryRow(
        designation=row.text("designation"),
        family=row.text("family"),
        bore_mm=bore_mm,
        od_mm=od_mm,
        width_mm=row.positive("width_mm"),
        r_min_mm=row.maybe_number("r_min_mm"),
        source=row.text("source"),
        closed_width_mm=row.maybe_number("closed_width_mm"),
        note=row.maybe_text("note"),
    )


@cache
def boundary_rows() -> tuple[BoundaryRow, ...]:
    """Return the whole table in file order (by family, then by number)."""
    needed = ("designation", "family", "bore_mm", "od_mm", "width_mm", "r_min_mm", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


@cache
def _by_designation() -> Mapping[str, BoundaryRow]:
    return MappingProxyType({row.designation: row for row in boundary_rows()})


def boundary(designation: str) -> BoundaryRow | None:
    """Return the row of a canonical designation (upper case, no blanks), or None if the table has none."""
    return _by_designation().get(designation)
