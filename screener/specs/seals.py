"""Standard sizes of rotary shaft seals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.specs.table import Row, read_rows

TABLE = "seal_sizes.csv"


@dataclass(frozen=True, slots=True)
class SealSizeRow:
    """One standard size: shaft x housing bore x width."""

    shaft_mm: float
    housing_mm: float
    width_mm: float
    source: str

    @property
    def size(self) -> str:
        """The size as the trade writes it, ``35x52x7``."""
        return f"{self.shaft_mm:g}x{self.housing_mm:g}x{self.width_mm:g}"

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.size} ({self.source})"


def _read(row: Row) -> SealSizeRow:
    shaft_mm, housing_mm = row.positive("shaft_mm"), row.positive("housing_mm")
    if shaft_mm >= housing_mm:
        raise row.broken("housing_mm", f"The housing bore {housing_mm:g} is not larger than the shaft {shaft_mm:g}.")
    return SealSizeRow(shaft_mm, housing_mm, row.positive("width_mm"), row.text("source"))


@cache
def seal_sizes() -> tuple[SealSizeRow, ...]:
    """Return all standard sizes, by shaft, housing bore and width."""
    return tuple(_read(row) for row in read_rows(TABLE, ("shaft_mm", "housing_mm", "width_mm", "source")))


@cache
def _by_size() -> Mapping[tuple[float, float, float], SealSizeRow]:
    return MappingProxyType({(row.shaft_mm, row.housing_mm, row.width_mm): row for row in seal_sizes()})


def seal_size(shaft_mm: float, housing_mm: float, width_mm: float) -> SealSizeRow | None:
    """Return the standard size of exactly these three dimensions, or None."""
    return _by_size().get((shaft_mm, housing_mm, width_mm))
