"""What becomes of a fit when the machine is warm: light alloy grows away from the ring, a warm ring from its shaft."""

from __future__ import annotations

from dataclasses import dataclass

from screener.metrology.fits.case import Temperatures
from screener.metrology.fits.clearance_left import SeatJoint, interference_change_um
from screener.metrology.fits.seat_wording import gap_words
from screener.metrology.fits.span import Span, probable_sum
from screener.specs.fit_tables import Seat


@dataclass(frozen=True, slots=True)
class RunningFit:
    """One seat at running temperature."""

    seat: Seat
    interference_um: Span
    """Probable range; below zero is a gap."""
    lost: bool
    """The seat has to be tight and is a gap, or may be one, when warm."""
    says: str


def running_fit(each: SeatJoint, running: Temperatures, *, must_be_tight: bool) -> RunningFit | None:
    """Return the fit at running temperature; None where the ring's temperature is not known."""
    ring_c = running.inner_c if each.seat == "shaft" else running.outer_c
    if ring_c is None:
        return None
    cold = each.interference.probable_um
    warm = probable_sum((cold, interference_change_um(each, running)))
    lost = must_be_tight and cold.low > 0 and warm.low <= 0
    ending = "; it must be tight and may work loose" if lost else ""
    says = f"{each.seat.capitalize()} running ({ring_c:.0f} °C at the ring): {gap_words(warm)}{ending}."
    return RunningFit(each.seat, warm, lost, says)
