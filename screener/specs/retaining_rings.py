"""Retaining rings for shafts (DIN 471) and bores (DIN 472)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.specs.table import Row, read_rows

TABLE = "retaining_rings.csv"
FOR_SHAFT, FOR_BORE = "DIN 471", "DIN 472"


@dataclass(frozen=True, slots=True)
class RetainingRingRow:
    """One ring and its groove, in mm."""

    standard: str
    nominal_mm: float
    """Shaft diameter (DIN 471) or bore (DIN 472)."""
    thickness_mm: float
    free_diameter_mm: float
    groove_diameter_mm: float
    groove_width_min_mm: float
    groove_depth_mm: float
    source: str
    edge_min_mm: float | None = None

    @property
    def name(self) -> str:
        """The ring as it is ordered, ``DIN 472 - 52 x 2``."""
        return f"{self.standard} - {self.nominal_mm:g} x {self.thickness_mm:g}"

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.name} ({self.source})"


def _read(row: Row) -> RetainingRingRow:
    return RetainingRingRow(
        standard=row.text("standard"),
        nominal_mm=row.positive("nominal_mm"),
        thickness_mm=row.positive("thickness_mm"),
        free_diameter_mm=row.positive("free_diameter_mm"),
        groove_diameter_mm=row.positive("groove_diameter_mm"),
        groove_width_min_mm=row.positive("groove_width_min_mm"),
        groove_depth_mm=row.positive("groove_depth_mm"),
        source=row.text("source"),
        edge_min_mm=row.maybe_number("edge_min_mm"),
    )


@cache
def retaining_rings() -> tuple[RetainingRingRow, ...]:
    """Return the whole table in file order."""
    needed = ("standard", "nominal_mm", "thickness_mm", "free_diameter_mm", "groove_diameter_mm", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


@cache
def _by_name() -> Mapping[tuple[str, float], RetainingRingRow]:
    return MappingProxyType({(row.standard, row.nominal_mm): row for row in retaining_rings()})


def ring_for_shaft(shaft_mm: float) -> RetainingRingRow | None:
    """Return the DIN 471 ring for a shaft (holds a bearing by its inner ring), or None."""
    return _by_name().get((FOR_SHAFT, shaft_mm))


def ring_for_bore(bore_mm: float) -> RetainingRingRow | None:
    """Return the DIN 472 ring for a housing bore (holds a bearing by its outer ring), or None."""
    return _by_name().get((FOR_BORE, bore_mm))
