"""O-ring sizes of the AS568 dash numbers, which are the inch sizes of ISO 3601-1."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.specs.table import Row, read_rows

TABLE = "orings.csv"


@dataclass(frozen=True, slots=True)
class ORingRow:
    """Inner diameter and section in mm, with plus/minus tolerances."""

    dash: str
    """Three digits, ``210``."""
    inner_mm: float
    section_mm: float
    inner_tol_mm: float
    section_tol_mm: float
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: -{self.dash} ({self.source})"


def _read(row: Row) -> ORingRow:
    sizes = [row.positive(name) for name in ("inner_mm", "section_mm", "inner_tol_mm", "section_tol_mm")]
    return ORingRow(row.text("dash"), sizes[0], sizes[1], sizes[2], sizes[3], row.text("source"))


@cache
def orings() -> tuple[ORingRow, ...]:
    """Return the whole table in file order."""
    needed = ("dash", "inner_mm", "section_mm", "inner_tol_mm", "section_tol_mm", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


@cache
def _by_dash() -> Mapping[str, ORingRow]:
    return MappingProxyType({row.dash: row for row in orings()})


def oring(dash: str) -> ORingRow | None:
    """Return the size of a dash number (``210``, ``-210`` or ``006``), or None."""
    return _by_dash().get(dash.strip().lstrip("-").zfill(3))


def orings_near(inner_mm: float, section_mm: float) -> tuple[ORingRow, ...]:
    """Return the sizes whose tolerances cover both dimensions, nearest first."""
    fitting = [
        row
        for row in orings()
        if abs(row.inner_mm - inner_mm) <= row.inner_tol_mm + 1e-9
        and abs(row.section_mm - section_mm) <= row.section_tol_mm + 1e-9
    ]
    return tuple(sorted(fitting, key=lambda row: abs(row.inner_mm - inner_mm) + abs(row.section_mm - section_mm)))
