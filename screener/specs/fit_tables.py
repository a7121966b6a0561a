"""Which ISO 286 class lists recommend for a load case, where load classes end, how round a seat must be."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from screener.specs.ranges import in_range
from screener.specs.table import Row, read_rows

FITS_TABLE = "fit_recommendations.csv"
LOADS_TABLE = "fit_load_classes.csv"
FORM_TABLE = "fit_form.csv"

Seat = Literal["shaft", "housing"]
Load = Literal["light", "normal", "heavy", "shock"]
LOADS: tuple[Load, ...] = ("light", "normal", "heavy", "shock")

_BEARING_OF_FAMILY = {
    "deep groove ball": "ball",
    "flanged deep groove ball": "ball",
    "inch deep groove ball": "ball",
    "flanged inch deep groove ball": "ball",
    "double row deep groove ball": "ball",
    "self-aligning ball": "ball",
    "angular contact ball": "ball",
    "double row angular contact ball": "ball",
    "four-point contact ball": "ball",
    "cylindrical roller": "roller",
    "double row cylindrical roller": "roller",
    "full complement cylindrical roller": "roller",
    "needle roller": "roller",
    "tapered roller": "roller",
    "spherical roller": "spherical roller",
}


@dataclass(frozen=True, slots=True)
class FitRow:
    """One recommended class: solid steel shafts and one-piece housings, bearings of class Normal."""

    seat: str
    bearing: str
    """``ball``, ``roller`` (cylindrical, tapered, needle), ``spherical roller`` or ``any``."""
    turning: tuple[str, ...]
    """Which ring turns relative to the load: ``inner``, ``outer``, ``undefined`` direction, or ``axial`` load only."""
    loads: tuple[str, ...]
    over_mm: float
    up_to_mm: float
    zone: str
    source: str
    when: str = ""
    """A condition beyond the load case; empty for the usual choice."""
    moves: str = ""
    """What the ring does in this fit, where a list says so."""

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return (
            f"{FITS_TABLE}: {self.seat}, {self.bearing}, over {self.over_mm:g} to {self.up_to_mm:g} mm ({self.source})"
        )


def _words(row: Row, column: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in row.text(column).split(";"))


def _read_fit(row: Row) -> FitRow:
    return FitRow(
        seat=row.text("seat"),
        bearing=row.text("bearing"),
        turning=_words(row, "turning"),
        loads=_words(row, "load"),
        over_mm=row.number("over_mm"),
        up_to_mm=row.positive("up_to_mm"),
        zone=row.text("zone"),
        source=row.text("source"),
        when=row.maybe_text("when") or "",
        moves=row.maybe_text("moves") or "",
    )


@cache
def fit_rows() -> tuple[FitRow, ...]:
    """Return the whole table in file order."""
    needed = ("seat", "bearing", "turning", "load", "over_mm", "up_to_mm", "zone", "when", "moves", "source")
    return tuple(_read_fit(row) for row in read_rows(FITS_TABLE, needed))


def bearing_kind(family: str) -> str | None:
    """Return which rows of the fit table serve a family, or None where none do (thrust, insert, drawn cup …)."""
    return _BEARING_OF_FAMILY.get(family)


def recommended_fits(seat: Seat, family: str, turning: str, load: str, nominal_mm: float) -> tuple[FitRow, ...]:
    """Return every row for a load case, usual choices before conditional ones; none outside the tables.

    Parameters
    ----------
    seat
        ``shaft`` or ``housing``.
    family
        Family as in `boundary_dimensions.csv`.
    turning
        ``inner``, ``outer``, ``undefined`` or ``axial``.
    load
        ``light``, ``normal``, ``heavy`` or ``shock``.
    nominal_mm
        Bore for a shaft, outside diameter for a housing.
    """
    kind = bearing_kind(family)
    if kind is None:
        return ()
    found = [
        row
        for row in fit_rows()
        if row.seat == seat
        and row.bearing in {kind, "any"}
        and turning in row.turning
        and load in row.loads
        and in_range(nominal_mm, row.over_mm, row.up_to_mm)
    ]
    return tuple(sorted(found, key=lambda row: row.when != ""))


@dataclass(frozen=True, slots=True)
class LoadClassRow:
    """Where one list ends light and normal load, as a share of the dynamic rating C."""

    name: str
    light_up_to: float
    normal_up_to: float
    source: str

    def load(self, share_of_rating: float) -> Load:
        """Return the class of a load P/C in this list."""
        if share_of_rating <= self.light_up_to:
            return "light"
        return "normal" if share_of_rating <= self.normal_up_to else "heavy"


@cache
def load_class_rows() -> tuple[LoadClassRow, ...]:
    """Return every list's limits."""
    return tuple(
        LoadClassRow(row.text("list"), row.positive("light_up_to"), row.positive("normal_up_to"), row.text("source"))
        for row in read_rows(LOADS_TABLE, ("list", "light_up_to", "normal_up_to", "source"))
    )


@dataclass(frozen=True, slots=True)
class FormRow:
    """How much of the diameter tolerance roundness and taper may use up; lists give a range."""

    accuracy: str
    share_low: float
    share_high: float
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{FORM_TABLE}: class {self.accuracy} ({self.source})"


@cache
def form_rows() -> tuple[FormRow, ...]:
    """Return the whole table."""
    return tuple(
        FormRow(row.text("accuracy"), row.positive("share_low"), row.positive("share_high"), row.text("source"))
        for row in read_rows(FORM_TABLE, ("accuracy", "share_low", "share_high", "source"))
    )


def form_share(accuracy: str) -> FormRow | None:
    """Return the row of a bearing class, or None."""
    return next((row for row in form_rows() if row.accuracy == accuracy), None)
