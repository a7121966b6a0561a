"""Stiffness and expansion of what seats are made of; smoothing of rough seats; friction in a press fit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.table import Row, read_rows

MATERIALS_TABLE = "fit_materials.csv"
SMOOTHING_TABLE = "fit_smoothing.csv"
FRICTION_TABLE = "fit_friction.csv"


@dataclass(frozen=True, slots=True)
class MaterialRow:
    """One material; expansion as a range in 1e-6 per kelvin, good between the two temperatures."""

    material: str
    also_called: tuple[str, ...]
    youngs_gpa: float
    poisson: float
    alpha_low_1e6_per_k: float
    alpha_high_1e6_per_k: float
    lowest_c: float
    highest_c: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{MATERIALS_TABLE}: {self.material} ({self.source})"


def _read(row: Row) -> MaterialRow:
    low, high = row.positive("alpha_low_1e6_per_k"), row.positive("alpha_high_1e6_per_k")
    if low > high:
        raise row.broken("alpha_high_1e6_per_k", f"{high:g} is below {low:g}.")
    return MaterialRow(
        material=row.text("material"),
        also_called=tuple(name for name in (row.maybe_text("also_called") or "").split(";") if name),
        youngs_gpa=row.positive("youngs_gpa"),
        poisson=row.positive("poisson"),
        alpha_low_1e6_per_k=low,
        alpha_high_1e6_per_k=high,
        lowest_c=row.number("lowest_c"),
        highest_c=row.number("highest_c"),
        source=row.text("source"),
        note=row.maybe_text("note"),
    )


@cache
def materials() -> tuple[MaterialRow, ...]:
    """Return the whole table in file order."""
    needed = (
        *("material", "youngs_gpa", "poisson", "alpha_low_1e6_per_k", "alpha_high_1e6_per_k"),
        *("lowest_c", "highest_c", "source"),
    )
    return tuple(_read(row) for row in read_rows(MATERIALS_TABLE, needed))


def material(name: str) -> MaterialRow | None:
    """Return the row of a material by its name or what else it is called, or None."""
    wanted = " ".join(name.lower().replace("-", " ").replace("_", " ").split())
    return next((row for row in materials() if wanted in {row.material, *row.also_called}), None)


@dataclass(frozen=True, slots=True)
class RangeRow:
    """One named range of a small table (smoothing in micrometres, coefficient of friction)."""

    table: str
    name: str
    low: float
    high: float
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{self.table}: {self.name} ({self.source})"


def _ranges(table: str, name: str, low: str, high: str) -> tuple[RangeRow, ...]:
    return tuple(
        RangeRow(
            table, row.text(name), row.positive(low), row.positive(high), row.text("source"), row.maybe_text("note")
        )
        for row in read_rows(table, (name, low, high, "source"))
    )


@cache
def smoothing_rows() -> tuple[RangeRow, ...]:
    """Return what pressing takes off the interference on diameter, in micrometres, by surface."""
    return _ranges(SMOOTHING_TABLE, "surface", "low_um", "high_um")


@cache
def friction_rows() -> tuple[RangeRow, ...]:
    """Return the coefficients of friction by state."""
    return _ranges(FRICTION_TABLE, "state", "low", "high")


def smoothing(surface: str) -> RangeRow | None:
    """Return the smoothing of a surface (``ground``, ``turned``), or None."""
    return next((row for row in smoothing_rows() if row.name == surface), None)


def friction(state: str) -> RangeRow | None:
    """Return the friction of a state (``oiled``, ``dry``, ``pulling off``), or None."""
    return next((row for row in friction_rows() if row.name == state), None)
