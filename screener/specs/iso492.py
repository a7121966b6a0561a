"""Dimensional tolerances of rolling bearings: ISO 492 (radial, tapered), ISO 199 (thrust), insert bearings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from screener.specs.ranges import in_range
from screener.specs.table import Row, read_rows

TABLE = "iso492_tolerances.csv"
Ring = Literal["inner", "outer"]

_KIND_OF_FAMILY = {
    "deep groove ball": "radial",
    "flanged deep groove ball": "radial",
    "inch deep groove ball": "radial",
    "flanged inch deep groove ball": "radial",
    "double row deep groove ball": "radial",
    "self-aligning ball": "radial",
    "angular contact ball": "radial",
    "double row angular contact ball": "radial",
    "four-point contact ball": "radial",
    "cylindrical roller": "radial",
    "double row cylindrical roller": "radial",
    "full complement cylindrical roller": "radial",
    "spherical roller": "radial",
    "needle roller": "radial",
    "tapered roller": "tapered",
    "thrust ball": "thrust",
    "insert": "insert",
}


@dataclass(frozen=True, slots=True)
class ToleranceRow:
    """Limits for one ring, class and size range; deviations from nominal in micrometres.

    The range is that of the bore for inner rings and of the outside diameter for outer rings. Widths stand in the inner
    ring's rows: of both rings of a radial bearing, of the whole tapered (T) or thrust (H) bearing.
    """

    bearing: str
    """``radial``, ``tapered``, ``thrust`` or ``insert``."""
    ring: str
    accuracy: str
    """``Normal``, ``6`` or ``5``."""
    over_mm: float
    up_to_mm: float
    diameter_upper_um: float
    diameter_lower_um: float
    width_upper_um: float | None
    width_lower_um: float | None
    runout_max_um: float | None
    width_variation_max_um: float | None
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        span = f"{self.over_mm:g} to {self.up_to_mm:g} mm"
        return f"{TABLE}: {self.bearing} {self.ring} ring, class {self.accuracy}, over {span} ({self.source})"


def _read(row: Row) -> ToleranceRow:
    return ToleranceRow(
        bearing=row.text("bearing"),
        ring=row.text("ring"),
        accuracy=row.text("class"),
        over_mm=row.number("over_mm"),
        up_to_mm=row.positive("up_to_mm"),
        diameter_upper_um=row.number("diameter_upper_um"),
        diameter_lower_um=row.number("diameter_lower_um"),
        width_upper_um=row.maybe_number("width_upper_um"),
        width_lower_um=row.maybe_number("width_lower_um"),
        runout_max_um=row.maybe_number("runout_max_um"),
        width_variation_max_um=row.maybe_number("width_variation_max_um"),
        source=row.text("source"),
    )


@cache
def tolerance_rows() -> tuple[ToleranceRow, ...]:
    """Return the whole table in file order."""
    needed = ("bearing", "ring", "class", "over_mm", "up_to_mm", "diameter_upper_um", "diameter_lower_um", "source")
    return tuple(_read(row) for row in read_rows(TABLE, needed))


def tolerance_kind(family: str) -> str | None:
    """Return which part of the table a family of `boundary_dimensions.csv` is judged by, or None if there is none.

    Drawn cup needle rollers have none on purpose: their size shows only when pressed into a ring gauge.
    """
    return _KIND_OF_FAMILY.get(family)


def tolerance(bearing: str, ring: Ring, accuracy: str, nominal_mm: float) -> ToleranceRow | None:
    """Return the row for a nominal bore (inner ring) or outside diameter (outer ring), or None if the table ends there.

    Parameters
    ----------
    bearing
        ``radial``, ``tapered``, ``thrust`` or ``insert``; see `tolerance_kind`.
    ring
        ``inner`` or ``outer``.
    accuracy
        ``Normal``, ``6`` or ``5``.
    nominal_mm
        Nominal diameter of that ring.
    """
    for row in tolerance_rows():
        if (row.bearing, row.ring, row.accuracy) == (bearing, ring, accuracy) and in_range(
            nominal_mm, row.over_mm, row.up_to_mm
        ):
            return row
    return None
