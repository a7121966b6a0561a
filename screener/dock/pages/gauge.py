"""What is asked of a seat and what was measured, as bars on one scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.metrology.fits.seat_fit import SeatFit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.metrology.decision import Limits, Verdict
    from screener.metrology.fits.seal_fit import SealSeatFit

_VERDICTS: Mapping[Verdict | None, str] = {
    "conforms": "within",
    "does_not_conform": "outside",
    "cannot_tell": "cannot be told with this instrument",
    None: "",
}
_MARGIN = 0.06
"""Free room at both ends of the scale, as a share of it."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One range: a class, the ring, or what was measured. ``start`` and ``length`` are per cent of the scale."""

    name: str
    kind: str
    low_mm: float
    high_mm: float
    says: str
    start: float = 0.0
    length: float = 0.0


def bars_of(seat: SeatFit | SealSeatFit) -> list[Bar]:
    """Return the ranges of a seat: the classes asked for, the ring that comes to it, the readings."""
    bars = _bearing_bars(seat) if isinstance(seat, SeatFit) else _seal_bars(seat)
    if seat.measured is not None:
        size, count = seat.measured.size_mm, seat.measured.readings
        many = "1 reading" if count == 1 else f"{count} readings"
        name = f"{seat.seat.capitalize()} as measured"
        bars.append(Bar(name, "seen", size.low, size.high, f"{many}, uncertainty included"))
    return _placed(bars)


def _bearing_bars(seat: SeatFit) -> list[Bar]:
    bars = [_asked(each.zone, each.limits, each.verdict, each.when) for each in seat.recommended]
    if seat.ring is not None:
        name = "The ring's bore" if seat.seat == "shaft" else "The ring's outside"
        known = "as measured" if seat.ring.measured else "by the standard's limits"
        bars.append(Bar(name, "ringed", seat.ring.size_mm.low, seat.ring.size_mm.high, known))
    return bars


def _seal_bars(seat: SealSeatFit) -> list[Bar]:
    return [_asked(each.zone, each.limits, each.verdict, each.asked_by) for each in seat.decisions]


def _asked(zone: str, limits: Limits, verdict: Verdict | None, when: str) -> Bar:
    says = "; ".join(part for part in (_VERDICTS[verdict], when) if part)
    return Bar(f"Asked for: {zone}", "zone", limits.lower_mm, limits.upper_mm, says)


def _placed(bars: list[Bar]) -> list[Bar]:
    if not bars:
        return []
    low, high = min(each.low_mm for each in bars), max(each.high_mm for each in bars)
    room = max(high - low, 0.001)
    low, room = low - _MARGIN * room, room * (1 + 2 * _MARGIN)
    return [_at(each, low, room) for each in bars]


def _at(bar: Bar, low_mm: float, room_mm: float) -> Bar:
    start = 100 * (bar.low_mm - low_mm) / room_mm
    length = max(100 * (bar.high_mm - bar.low_mm) / room_mm, 0.8)
    return Bar(bar.name, bar.kind, bar.low_mm, bar.high_mm, bar.says, round(start, 2), round(length, 2))
