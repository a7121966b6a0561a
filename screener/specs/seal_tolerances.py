"""Shaft seals: how much larger than its housing the free outside diameter is made, widths, and the seats' demands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from screener.specs.ranges import in_range
from screener.specs.table import Row, read_rows

PRESS_FIT_TABLE = "seal_press_fit.csv"
WIDTH_TABLE = "seal_widths.csv"
SEAT_TABLE = "seal_seats.csv"
SealCase = Literal["metal case", "rubber covered"]


@dataclass(frozen=True, slots=True)
class PressFitRow:
    """Free outside diameter minus nominal housing bore, in mm, for a range of housing bores."""

    case: str
    table: str
    """Whose table: ``makers of seals``, ``interstate standard`` or ``ISO 6194-1``."""
    over_mm: float
    up_to_mm: float
    low_mm: float
    high_mm: float
    ovality_max_mm: float | None
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        span = f"over {self.over_mm:g} to {self.up_to_mm:g} mm"
        return f"{PRESS_FIT_TABLE}: {self.case}, {self.table}, {span} ({self.source})"


@dataclass(frozen=True, slots=True)
class SealWidthRow:
    """Width tolerance, plus and minus, in mm."""

    over_mm: float
    up_to_mm: float
    tolerance_mm: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{WIDTH_TABLE}: over {self.over_mm:g} to {self.up_to_mm:g} mm ({self.source})"


@dataclass(frozen=True, slots=True)
class SealSeatRow:
    """One demand on the shaft or the housing; None where there is no lower or upper limit."""

    what: str
    low: float | None
    high: float | None
    unit: str
    source: str
    note: str | None = None


def _read_press_fit(row: Row) -> PressFitRow:
    low_mm, high_mm = row.positive("low_mm"), row.positive("high_mm")
    if low_mm >= high_mm:
        raise row.broken("high_mm", f"{high_mm:g} is not above {low_mm:g}.")
    return PressFitRow(
        case=row.text("case"),
        table=row.text("table"),
        over_mm=row.number("over_mm"),
        up_to_mm=row.positive("up_to_mm"),
        low_mm=low_mm,
        high_mm=high_mm,
        ovality_max_mm=row.maybe_number("ovality_max_mm"),
        source=row.text("source"),
    )


@cache
def press_fit_rows() -> tuple[PressFitRow, ...]:
    """Return the whole table in file order: makers' tables before the standards'."""
    needed = ("case", "table", "over_mm", "up_to_mm", "low_mm", "high_mm", "ovality_max_mm", "source")
    return tuple(_read_press_fit(row) for row in read_rows(PRESS_FIT_TABLE, needed))


def press_fits(case: SealCase, housing_mm: float) -> tuple[PressFitRow, ...]:
    """Return every table's row for a case and housing bore; the tables differ, so there may be two."""
    return tuple(
        row for row in press_fit_rows() if row.case == case and in_range(housing_mm, row.over_mm, row.up_to_mm)
    )


@cache
def seal_width_rows() -> tuple[SealWidthRow, ...]:
    """Return the whole table in file order."""
    return tuple(
        SealWidthRow(
            row.number("over_mm"),
            row.positive("up_to_mm"),
            row.positive("tolerance_mm"),
            row.text("source"),
            row.maybe_text("note"),
        )
        for row in read_rows(WIDTH_TABLE, ("over_mm", "up_to_mm", "tolerance_mm", "source"))
    )


def seal_width_tolerance(width_mm: float) -> SealWidthRow | None:
    """Return the tolerance row for a nominal width, or None outside the table."""
    return next((row for row in seal_width_rows() if in_range(width_mm, row.over_mm, row.up_to_mm)), None)


@cache
def seal_seat_rows() -> tuple[SealSeatRow, ...]:
    """Return what shaft and housing of a seal must be like."""
    return tuple(
        SealSeatRow(
            row.text("what"),
            row.maybe_number("low"),
            row.maybe_number("high"),
            row.text("unit"),
            row.text("source"),
            row.maybe_text("note"),
        )
        for row in read_rows(SEAT_TABLE, ("what", "low", "high", "unit", "source"))
    )
