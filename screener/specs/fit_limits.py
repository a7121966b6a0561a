"""How hot a bearing may be made, which retaining compound serves which gap, how fast a seal may run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.ranges import in_range
from screener.specs.table import read_rows

HEAT_TABLE = "fit_heat_limits.csv"
COMPOUNDS_TABLE = "retaining_compounds.csv"
SPEEDS_TABLE = "fit_seal_speeds.csv"


@dataclass(frozen=True, slots=True)
class HeatRow:
    """A ceiling in °C for heating a bearing before it is fitted."""

    what: str
    applies_to: str
    """``open``, ``closed``, ``precision`` or ``polyamide``."""
    ceiling_c: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{HEAT_TABLE}: {self.what} ({self.source})"


@cache
def heat_rows() -> tuple[HeatRow, ...]:
    """Return the whole table in file order."""
    return tuple(
        HeatRow(
            row.text("what"),
            row.text("applies_to"),
            row.positive("ceiling_c"),
            row.text("source"),
            row.maybe_text("note"),
        )
        for row in read_rows(HEAT_TABLE, ("what", "applies_to", "ceiling_c", "source"))
    )


@dataclass(frozen=True, slots=True)
class CompoundRow:
    """A class of retaining compound and the DIAMETRAL gaps its data sheets name, in mm."""

    gap_over_mm: float
    gap_up_to_mm: float
    compound: str
    source: str
    cautions: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{COMPOUNDS_TABLE}: diametral gap over {self.gap_over_mm:g} to {self.gap_up_to_mm:g} mm ({self.source})"


@cache
def compound_rows() -> tuple[CompoundRow, ...]:
    """Return the whole table, small gaps first."""
    return tuple(
        CompoundRow(
            row.number("gap_over_mm"),
            row.positive("gap_up_to_mm"),
            row.text("compound"),
            row.text("source"),
            row.maybe_text("cautions"),
        )
        for row in read_rows(COMPOUNDS_TABLE, ("gap_over_mm", "gap_up_to_mm", "compound", "source"))
    )


def compound(gap_mm: float) -> CompoundRow | None:
    """Return the class for a diametral gap, or None where no class is sold for it."""
    return next((row for row in compound_rows() if in_range(gap_mm, row.gap_over_mm, row.gap_up_to_mm)), None)


@dataclass(frozen=True, slots=True)
class SealSpeedRow:
    """Surface speed of a lip by material, in m/s; lists end between the two values."""

    material: str
    low_m_per_s: float
    high_m_per_s: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{SPEEDS_TABLE}: {self.material} ({self.source})"


@cache
def seal_speed_rows() -> tuple[SealSpeedRow, ...]:
    """Return the whole table in file order."""
    return tuple(
        SealSpeedRow(
            row.text("material"),
            row.positive("low_m_per_s"),
            row.positive("high_m_per_s"),
            row.text("source"),
            row.maybe_text("note"),
        )
        for row in read_rows(SPEEDS_TABLE, ("material", "low_m_per_s", "high_m_per_s", "source"))
    )


def seal_speed(material: str) -> SealSpeedRow | None:
    """Return the row of a material by its ISO 1629 name, or None."""
    wanted = material.strip().upper()
    return next((row for row in seal_speed_rows() if row.material == wanted), None)
