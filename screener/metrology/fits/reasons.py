"""What speaks against pressing, each in a few words: the line a mechanic reads first."""

from __future__ import annotations

from screener.metrology.fits.running_fit import RunningFit
from screener.metrology.fits.seat_fit import SeatFit
from screener.metrology.fits.seat_wording import missed_words


def seat_reason(seat: SeatFit, *, untold: bool = False) -> str:
    """Return why a seat is not simply right; empty where it is, or where ``untold`` says it already."""
    name = seat.seat
    if seat.outcome == "fits":
        return ""
    if missed := missed_words(name, seat.measured, seat.recommended):
        return " and ".join((missed, *seat.bent))
    if seat.measured is None:
        return f"{name} not measured"
    if seat.wants == "tight" and seat.kind in {"slide", "loose"}:
        return f"{name} must be tight and is not"
    if seat.kind == "loose":
        return f"{name} is loose"
    if seat.bent:
        return f"{name} {' and '.join(seat.bent)}"
    if not seat.recommended:
        return "" if untold else f"no class known for the {name}"
    return f"{name}: these readings do not settle it"


def lost_reason(each: RunningFit) -> str:
    """Return that a fit is lost when warm; empty where it is not."""
    return f"{each.seat} lets go when warm" if each.lost else ""
