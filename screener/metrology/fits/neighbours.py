"""Parts of a job that cannot sit beside each other: a ring for another shaft, a spacer that holds both rings fast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from screener.metrology.fits.stack import Piece

_SEATED = ("bearing", "shaft_seal")
_SLACK_MM = 0.3
"""A spacer's bore may be this much under the nominal shaft before it is another size (judgement)."""
_TOUCHING_MM = 0.05
_UNLESS = " (on a step of its own? then write on_step = true on the card)"


@dataclass(frozen=True, slots=True)
class Clash:
    """One part that does not belong where the card puts it: the job is not pressed so."""

    name: str
    says: str


def clashes(pieces: Sequence[Piece]) -> tuple[Clash, ...]:
    """Return what cannot go together, in the order of the shaft (geometry; the seats are those of bearings and seals).

    Parameters
    ----------
    pieces
        From left to right, as `stack_of` returns them.
    """
    return tuple(clash for at in range(len(pieces)) for clash in _of(pieces, at))


def _of(pieces: Sequence[Piece], at: int) -> Iterator[Clash]:
    piece = pieces[at]
    seats = [near for near in (_next(pieces, at, -1), _next(pieces, at, 1)) if near is not None]
    if not seats:
        return
    if piece.kind == "retaining_ring" and not piece.on_step:
        yield from _ring(piece, seats)
    elif piece.kind == "spacer":
        if not piece.on_step:
            yield from _too_narrow(piece, [each.inner_mm for each in seats])
        yield from _bridging(piece, [each for each in pieces[max(0, at - 1) : at + 2] if each.kind == "bearing"])


def _next(pieces: Sequence[Piece], at: int, step: int) -> Piece | None:
    """The nearest bearing or seal to one side."""
    side = pieces[at + 1 :] if step > 0 else pieces[:at][::-1]
    return next((each for each in side if each.kind in _SEATED), None)


def _ring(piece: Piece, seats: Sequence[Piece]) -> Iterator[Clash]:
    in_bore = piece.housing_mm is not None
    mine = piece.housing_mm if piece.housing_mm is not None else piece.shaft_mm
    sizes = {each.housing_mm if in_bore else each.inner_mm for each in seats}
    if mine is None or mine in sizes:
        return
    where = "bore" if in_bore else "shaft"
    beside = " or ".join(f"{size:g}" for size in sorted(size for size in sizes if size is not None))
    yield Clash(
        piece.name,
        f"{piece.size.split(',')[0]} belongs to a {where} of {mine:g} mm, the seats beside it have {beside} mm"
        f"{_UNLESS}",
    )


def _too_narrow(piece: Piece, shafts_mm: Sequence[float]) -> Iterator[Clash]:
    if piece.inner_mm >= min(shafts_mm) - _SLACK_MM:
        return
    yield Clash(
        piece.name,
        f"its bore of {piece.inner_mm:g} mm does not go over a shaft of {min(shafts_mm):g} mm{_UNLESS}",
    )


def _bridging(piece: Piece, bearings: Sequence[Piece]) -> Iterator[Clash]:
    """A spacer on the shaft may lie against the inner ring only."""
    for bearing in bearings:
        gap = max(piece.left_mm - bearing.right_mm, bearing.left_mm - piece.right_mm)
        if bearing.outer_raceway_mm is None or gap > _TOUCHING_MM or piece.inner_mm > bearing.outer_raceway_mm:
            continue
        if piece.outer_mm > bearing.outer_raceway_mm:
            yield Clash(
                piece.name,
                f"its outside of {piece.outer_mm:g} mm reaches the outer ring of {bearing.name} and holds both rings",
            )
