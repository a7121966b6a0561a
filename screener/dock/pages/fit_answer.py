"""How a judged part is shown: what speaks against it and a line a seat first, the rest folded under headings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.dock.pages import gauge
from screener.dock.pages.words import State
from screener.metrology.fits.bearing_fit import NOT_YET, BearingFit
from screener.metrology.fits.clearance_left import standing
from screener.metrology.fits.sequence import DEFER, ORDER_SAYS
from screener.reports.job_sheet import WORDS, part_numbers, seat_rows, warm_rows

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.metrology.fits.clearance_left import Standing
    from screener.metrology.fits.job import PartWalked
    from screener.metrology.fits.seal_fit import SealFit, SealSeatFit
    from screener.metrology.fits.seat_fit import Outcome, SeatFit
    from screener.metrology.fits.span import Span

_SHAPES: dict[Outcome, str] = {"fits": "ring", "review": "tag", "do_not": "cross"}
_STANDINGS: Mapping[Standing, str] = {
    "fits": "fits",
    "fits_as_a_rule": "fits as a rule",
    "too_tight": "too tight",
    "looser_than_needed": "looser than needed: more play and noise",
}


def stamp_of(outcome: Outcome, *, ruled_out: bool = False) -> State:
    """Return shape and word of an outcome; ``ruled_out``: pressing it as it was measured."""
    return State(_SHAPES[outcome], WORDS[outcome], NOT_YET.lower() if outcome == "review" and ruled_out else "")


def stamp_of_fit(fit: BearingFit | SealFit) -> State:
    """Return shape and word of one part's fit."""
    return stamp_of(fit.outcome, ruled_out=fit.steps_hold == "not")


@dataclass(frozen=True, slots=True)
class ShownSeat:
    """One seat under its heading."""

    seat: SeatFit | SealSeatFit
    bars: list[gauge.Bar]
    notes: list[str]

    @property
    def head(self) -> str:
        """The heading."""
        return "On the shaft" if self.seat.seat == "shaft" else "In the housing"


@dataclass(frozen=True, slots=True)
class ShownGroup:
    """One clearance group beside the others."""

    group: str
    left_um: Span
    says: str
    mine: bool


@dataclass(frozen=True, slots=True)
class ShownFit:
    """Everything the page says of a part."""

    fit: BearingFit | SealFit
    stamp: State
    reason: str
    look_again: tuple[str, ...]
    brief: tuple[str, ...]
    seats: tuple[ShownSeat, ...]
    clearance: tuple[str, ...]
    groups: tuple[ShownGroup, ...]
    numbers: list[tuple[str, str]]
    warm: tuple[str, ...]
    advice: tuple[str, ...]
    order_says: str
    defer: str = DEFER


def shown_fit(part: PartWalked) -> ShownFit | None:
    """Return what the page shows of a judged part; None for one that is not judged (a spacer, a ring)."""
    fit = part.fit
    if fit is None:
        return None
    rows = seat_rows(part)[:2]
    bearing = fit if isinstance(fit, BearingFit) else None
    return ShownFit(
        fit=fit,
        stamp=stamp_of_fit(fit),
        reason=_reason(fit),
        look_again=bearing.look_again if bearing else (),
        brief=fit.brief,
        seats=tuple(
            ShownSeat(seat, gauge.bars_of(seat), notes)
            for seat, (_, notes) in zip((fit.shaft, fit.housing), rows, strict=True)
        ),
        clearance=_clearance(bearing),
        groups=_groups(bearing),
        numbers=part_numbers(part),
        warm=tuple(each for each in warm_rows(part) if each not in _said_above(bearing)),
        advice=() if isinstance(fit, BearingFit) else tuple(each.says for each in fit.advice),
        order_says=ORDER_SAYS[fit.steps_hold],
    )


def _reason(fit: BearingFit | SealFit) -> str:
    if fit.against:
        said = "; ".join(fit.against)
        # The stamp says only that somebody is to look again.
        head = f"{fit.headline}. " if (fit.outcome, fit.steps_hold) == ("review", "not") else ""
        return f"{head}{said[0].upper()}{said[1:]}."
    return "Nothing speaks against it as measured."


def _said_above(fit: BearingFit | None) -> tuple[str, ...]:
    return () if fit is None else (*fit.look_again, *_clearance(fit))


def _clearance(fit: BearingFit | None) -> tuple[str, ...]:
    if fit is None:
        return ()
    told = fit.clearance
    more = () if told is None else (told.others_says, told.usual_warm_says)
    return tuple(each for each in (fit.clearance_says, *more) if each and each not in fit.look_again)


def _groups(fit: BearingFit | None) -> tuple[ShownGroup, ...]:
    answer = None if fit is None else fit.clearance
    if answer is None:
        return ()
    return tuple(
        ShownGroup(
            each.group,
            each.left.probable_um,
            _STANDINGS[standing(each, answer.groups)] if answer.seats_right else "the seats come first",
            each.group == answer.group,
        )
        for each in answer.groups
    )
