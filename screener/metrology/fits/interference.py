"""From a seat and a ring to interference: what it is, what the press leaves of it, and what kind of fit that makes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.errors import WrongUsage
from screener.metrology.bearing import accuracy_class
from screener.metrology.estimate import estimate
from screener.metrology.fits.measured_seat import MeasuredSeat
from screener.metrology.fits.recommended import Recommended
from screener.metrology.fits.span import Span, probable_sum, widest_sum
from screener.metrology.reading import Reading
from screener.specs.boundary import BoundaryRow
from screener.specs.fit_materials import smoothing, smoothing_rows
from screener.specs.fit_tables import Seat
from screener.specs.iso492 import Ring, tolerance, tolerance_kind

FitKind = Literal["press", "transition", "slide", "loose"]
"""``press``: interference for sure; ``transition``: may be either; ``slide``: a gap that a recommended class allows;
``loose``: a gap wider than any of them."""


@dataclass(frozen=True, slots=True)
class SizeKnown:
    """A diameter, and whether it was measured or is what limits allow."""

    size_mm: Span
    measured: bool
    rests_on: str


@dataclass(frozen=True, slots=True)
class Interference:
    """Seat against ring on diameter, in micrometres; below zero is a gap."""

    widest_um: Span
    """Everything at its worst at once."""
    probable_um: Span
    """Half-widths added in squares."""
    effective_um: Span
    """What is left after pressing smooths the surfaces (probable range; never below zero)."""
    smoothing_um: Span
    rests_on: tuple[str, ...]


def ring_size(row: BoundaryRow, seat: Seat, accuracy: str, readings: tuple[Reading, ...]) -> SizeKnown | None:
    """Return the bearing's bore (for a shaft) or outside diameter; None where it was not measured and no table has it.

    Raises
    ------
    WrongUsage
        A reading that cannot be one.
    """
    nominal_mm = row.bore_mm if seat == "shaft" else row.od_mm
    if readings:
        found = estimate(readings, "inside" if seat == "shaft" else "outside", what="bore" if seat == "shaft" else "od")
        _check_ring(nominal_mm, found.mean_mm)
        return SizeKnown(Span(found.lowest_mm, found.highest_mm), True, found.instrument_row)
    kind = tolerance_kind(row.family)
    ring: Ring = "inner" if seat == "shaft" else "outer"
    limits = None if kind is None else tolerance(kind, ring, accuracy_class(accuracy), nominal_mm)
    if limits is None:
        return None
    size = Span(nominal_mm + limits.diameter_lower_um / 1000, nominal_mm + limits.diameter_upper_um / 1000)
    return SizeKnown(size, False, limits.row_name)


def _check_ring(nominal_mm: float, mean_mm: float) -> None:
    if abs(mean_mm - nominal_mm) > 0.5:
        raise WrongUsage(
            f"A reading of {mean_mm:.3f} mm is not this bearing ({nominal_mm:g} mm).",
            next_step="Check the reading and the designation.",
            code="reading",
        )


def seat_size(measured: MeasuredSeat | None, recommended: tuple[Recommended, ...]) -> SizeKnown | None:
    """Return the seat's diameter: measured, or else what the first recommended class allows."""
    if measured is not None:
        return SizeKnown(measured.size_mm, True, measured.sections[0].instrument_row)
    if not recommended:
        return None
    first = recommended[0]
    limits = Span(first.limits.lower_mm, first.limits.upper_mm)
    return SizeKnown(limits, False, f"not measured: taken as {first.zone} ({first.limits.rests_on})")


def interference(seat: Seat, of_seat: SizeKnown, of_ring: SizeKnown, surface: str) -> Interference:
    """Return the interference of a ring on or in a seat.

    Raises
    ------
    WrongUsage
        The surface is not in the table.
    """
    signs = (1, -1) if seat == "shaft" else (-1, 1)
    parts = (of_seat.size_mm.scaled(1000 * signs[0]), of_ring.size_mm.scaled(1000 * signs[1]))
    smoothed, rests_on = smoothing_of(surface)
    probable = probable_sum(parts)
    effective = probable_sum((*parts, smoothed.scaled(-1))).above_zero()
    return Interference(
        widest_um=widest_sum(parts),
        probable_um=probable,
        effective_um=effective,
        smoothing_um=smoothed,
        rests_on=(of_seat.rests_on, of_ring.rests_on, rests_on),
    )


def smoothing_of(surface: str) -> tuple[Span, str]:
    """Return what pressing takes off the interference, in micrometres, and its row."""
    row = smoothing(surface)
    if row is None:
        known = ", ".join(each.name for each in smoothing_rows())
        raise WrongUsage(
            f"“{surface}” is not known as a surface.", where="surface", next_step=f"Known: {known}.", code="surface"
        )
    return Span(row.low, row.high), row.row_name


def fit_kind(found: Interference, *, widest_gap_um: float | None) -> FitKind:
    """Name the fit.

    Parameters
    ----------
    found
        The interference; its probable range decides.
    widest_gap_um
        The widest gap that a recommended class allows with this ring; None where none is recommended.
    """
    probable = found.probable_um
    if probable.low > 0:
        return "press"
    if probable.high > 0:
        return "transition"
    if widest_gap_um is None or -probable.middle > widest_gap_um:
        return "loose"
    return "slide"


def widest_gap_um(seat: Seat, ring: SizeKnown, recommended: tuple[Recommended, ...]) -> float | None:
    """Return the widest gap of the classes recommended (conditions included), in micrometres; None without any."""
    gaps = [
        ring.size_mm.high - each.limits.lower_mm if seat == "shaft" else each.limits.upper_mm - ring.size_mm.low
        for each in recommended
    ]
    return max(0.0, *gaps) * 1000 if gaps else None
