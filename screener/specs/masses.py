"""What a bearing weighs according to printed lists, and how far a good one may lie from that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.specs.table import Row, read_rows

TABLE = "masses.csv"

BAND = 0.12
"""Relative half-width that is normal between makers: the spread of printed masses of one designation in at least two
independent lists is 6 to 10 % in the median of a series and more in the worst tenth (statistics over this table)."""

CLOSED_MINUS_OPEN = (-0.03, 0.12)
"""Relative mass of closed minus open in lists that print both; used where only the open mass is known."""


@dataclass(frozen=True, slots=True)
class MassRow:
    """Printed mass of one designation and closure; ``low_kg`` and ``high_kg`` are the extremes of the lists used."""

    designation: str
    closure: str
    """``open``, ``shield``, ``contact_seal`` or ``low_friction_seal``; closed means both sides."""
    mass_kg: float
    low_kg: float
    high_kg: float
    lineages: int
    """How many lists that were not copied from each other stand behind it."""
    source: str
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.designation} {self.closure} ({self.source})"


@dataclass(frozen=True, slots=True)
class MassRange:
    """Masses that are no surprise, in kg, and where the range comes from, in words."""

    low_kg: float
    mass_kg: float
    high_kg: float
    origin: str
    rests_on: str


def _read(row: Row) -> MassRow:
    low_kg, mass_kg, high_kg = (row.positive(name) for name in ("low_kg", "mass_kg", "high_kg"))
    if not low_kg <= mass_kg <= high_kg:
        raise row.broken("mass_kg", f"{mass_kg:g} lies outside {low_kg:g} to {high_kg:g}.")
    return MassRow(
        designation=row.text("designation"),
        closure=row.text("closure"),
        mass_kg=mass_kg,
        low_kg=low_kg,
        high_kg=high_kg,
        lineages=int(row.positive("lineages")),
        source=row.text("source"),
        note=row.maybe_text("note"),
    )


@cache
def masses() -> tuple[MassRow, ...]:
    """Return the whole table in file order."""
    needed = ("designation", "closure", "mass_kg", "low_kg", "high_kg", "lineages", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


@cache
def _by_name() -> Mapping[tuple[str, str], MassRow]:
    return MappingProxyType({(row.designation, row.closure): row for row in masses()})


def mass_row(designation: str, closure_kind: str | None) -> MassRow | None:
    """Return the printed mass for exactly this closure (None counts as ``open``), or None."""
    return _by_name().get((designation, closure_kind or "open"))


def mass_range(designation: str, closure_kind: str | None) -> MassRange | None:
    """Return the masses in kg that are no surprise for a designation, or None if no list prints one.

    Parameters
    ----------
    designation
        Canonical basic designation (``6205``).
    closure_kind
        ``open``, ``shield``, ``contact_seal`` … or None if unknown. Where the closed mass is not printed, the open one
        is taken and the range widened by what closures were seen to change.
    """
    exact = mass_row(designation, closure_kind)
    if exact is not None and closure_kind is not None:
        return _around(exact, (0.0, 0.0), "")
    opened = mass_row(designation, "open")
    if opened is None:
        return None
    if closure_kind == "open":
        return _around(opened, (0.0, 0.0), "")
    return _around(opened, CLOSED_MINUS_OPEN, "; printed for the open bearing, widened by -3/+12 % for closures")


def _around(row: MassRow, shift: tuple[float, float], remark: str) -> MassRange:
    low_kg = min(row.low_kg, row.mass_kg * (1 - BAND)) * (1 + shift[0])
    high_kg = max(row.high_kg, row.mass_kg * (1 + BAND)) * (1 + shift[1])
    lists = "one list" if row.lineages == 1 else f"{row.lineages} independent lists"
    origin = (
        f"{row.mass_kg:g} kg in {lists} ({row.low_kg:g} to {row.high_kg:g} kg); "
        f"±{BAND:.0%} is normal between makers{remark}"
    )
    return MassRange(low_kg, row.mass_kg, high_kg, origin, row.row_name)
