"""Measuring instruments of a shop: how far a reading can be trusted, by use."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from screener.specs.table import Row, read_rows

TABLE = "instruments.csv"
Use = Literal["outside", "inside", "outside rubber", "mass"]


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    """One instrument in one use. Uncertainties are standard uncertainties (k = 1), absolute part plus relative part."""

    instrument: str
    use: str
    unit: str
    """``mm`` or ``kg``."""
    u_absolute: float
    u_relative: float
    source: str
    also_called: tuple[str, ...] = ()
    flat_mm: float | None = None
    """Inside jaws: the largest flat width (plus offset) that touches a bore on a chord."""
    short_below_mm: float | None = None
    """Below this bore the jaws read noticeably short, and only short."""
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.instrument}, {self.use} ({self.source})"

    def standard_uncertainty(self, value: float) -> float:
        """Return the standard uncertainty of a reading, in the reading's unit."""
        return self.u_absolute + self.u_relative * abs(value)


def _read(row: Row) -> InstrumentRow:
    return InstrumentRow(
        instrument=row.text("instrument"),
        use=row.text("use"),
        unit=row.text("unit"),
        u_absolute=row.positive("u_absolute"),
        u_relative=row.number("u_relative"),
        source=row.text("source"),
        also_called=tuple(name.strip() for name in (row.maybe_text("also_called") or "").split(";") if name.strip()),
        flat_mm=row.maybe_number("flat_mm"),
        short_below_mm=row.maybe_number("short_below_mm"),
        note=row.maybe_text("note"),
    )


@cache
def instruments() -> tuple[InstrumentRow, ...]:
    """Return the whole table in file order."""
    needed = ("instrument", "use", "unit", "u_absolute", "u_relative", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


def instrument_names(use: Use | None = None) -> tuple[str, ...]:
    """Return the instruments' names, each once, in file order; of one use or of all."""
    return tuple(dict.fromkeys(row.instrument for row in instruments() if use in {None, row.use}))


def instrument(name: str, use: Use) -> InstrumentRow | None:
    """Return the row of an instrument in a use, by its name or what else it is called, or None."""
    wanted = " ".join(name.lower().replace("-", " ").replace("_", " ").split())
    for row in instruments():
        called = {row.instrument, *(other.replace("-", " ") for other in row.also_called)}
        if row.use == use and wanted in called:
            return row
    return None
