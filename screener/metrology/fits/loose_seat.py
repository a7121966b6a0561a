"""A seat that should be tight and is not: the DIAMETRAL gap, and what is sold for it, or a sleeve."""

from __future__ import annotations

from dataclasses import dataclass

from screener.metrology.fits.interference import Interference
from screener.metrology.fits.measured_seat import MeasuredSeat
from screener.metrology.fits.span import Span
from screener.specs.fit_limits import CompoundRow, compound, compound_rows

COMPOUND_HOTTEST_C = 150.0
"""Typical limit of the class (data sheets)."""


@dataclass(frozen=True, slots=True)
class LooseSeat:
    """What can be done about a gap."""

    gap_mm: Span
    """Diametral, probable range."""
    compounds: tuple[CompoundRow, ...]
    """The classes whose ranges the gap touches; two where it lies between; none: sleeve or replace."""
    says: str
    cautions: tuple[str, ...]


def loose_seat(found: Interference, measured: MeasuredSeat | None, hottest_c: float | None) -> LooseSeat:
    """Return what serves a gap.

    Parameters
    ----------
    found
        Interference, not above zero.
    measured
        The seat's form: a seat bent by more than half the gap is no case for compound.
    hottest_c
        Running temperature of the seat, if known.
    """
    gap = found.probable_um.scaled(-1 / 1000).above_zero()
    last = compound_rows()[-1]
    if gap.high > last.gap_up_to_mm:
        what = "Sleeve, build up or replace the part"
        return LooseSeat(
            gap,
            (),
            f"{what}: a diametral gap of {_mm(gap)} is beyond {last.gap_up_to_mm:g} mm, where compounds end.",
            (),
        )
    classes = tuple(
        row for row in compound_rows() if row.gap_over_mm < gap.high and row.gap_up_to_mm > gap.low
    ) or tuple(row for row in (compound(max(gap.high, 1e-6)),) if row is not None)
    named = " or ".join(row.compound for row in classes)
    between = "; the gap lies between classes: take the one for the wider gap" if len(classes) > 1 else ""
    says = f"Retaining compound for a diametral gap of {_mm(gap)}: {named}{between}. Better: sleeve or replace."
    return LooseSeat(gap, classes, says, _cautions(gap, classes, measured, hottest_c))


def _mm(gap: Span) -> str:
    return f"{gap.low:.3f} to {gap.high:.3f} mm"


def _cautions(
    gap: Span, classes: tuple[CompoundRow, ...], measured: MeasuredSeat | None, hottest_c: float | None
) -> tuple[str, ...]:
    found = [row.cautions for row in classes if row.cautions]
    form = [span for span in (measured.out_of_round_um, measured.taper_um) if span] if measured is not None else []
    if any(span.high / 1000 > gap.high / 2 for span in form):
        found.append("out of round or taper may be more than half the gap: not a case for compound then")
    if hottest_c is None:
        found.append(f"not for seats above about {COMPOUND_HOTTEST_C:.0f} °C; the running temperature was not told")
    elif hottest_c > COMPOUND_HOTTEST_C:
        found.append(f"{hottest_c:.0f} °C is above about {COMPOUND_HOTTEST_C:.0f} °C: not for this seat")
    return (*found, "alignment and heat flow suffer; the bearing must stay clear of it")
