"""Codes in a photo: the plain image first, then other sizes, then the ladder; a second engine as witness."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from screener.codes import engine
from screener.codes.interpret import interpreted
from screener.codes.ladder import climb, read_beside, read_stripes, resized
from screener.codes.readers import readers_present
from screener.codes.second_look import look_again
from screener.codes.second_reader import with_second_reader

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.codes.model import CodeRead

__all__ = ["read_codes", "readers_present"]

# Up to this size one thorough pass of the engine costs little; above it a quick pass and smaller copies find
# nearly the same codes in a fraction of the time (measured).
_LARGE_PIXELS = 3_000_000
_MIDDLE_PIXELS = 1_500_000
_SMALL_PIXELS = 400_000


def read_codes(gray: NDArray[np.uint8], *, thorough: bool = True, today: dt.date | None = None) -> tuple[CodeRead, ...]:
    """Read every code in a photo.

    Parameters
    ----------
    gray
        The upright photo, shape (height, width), 8 bit.
    thorough
        Climb the ladder of enhancements when nothing was read, and look for linear codes that lie as tilted
        as a code that was found. Without it a photo with no code costs one pass.
    today
        The day of reading, for the sense of dates; the system's date when not given.

    Returns
    -------
    tuple of CodeRead
        From top to bottom. ``confirmed_by`` names only the second reader here; callers add printed digits and known
        articles with :func:`screener.codes.witness.with_witness`.
    """
    gray = np.ascontiguousarray(gray)
    if gray.ndim != 2 or min(gray.shape) < 8:
        return ()
    found = _looked_at_twice(_without_enhancing(gray), gray)
    if thorough:
        found = found + _beside(gray, found) if found else climb(gray)
    day = today or dt.datetime.now().astimezone().date()
    codes = [interpreted(with_second_reader(gray, code), today=day) for code in _each_once(found)]
    return tuple(sorted(codes, key=_top))


def _without_enhancing(gray: NDArray[np.uint8]) -> list[CodeRead]:
    if gray.size <= _LARGE_PIXELS:
        return engine.find(gray)
    middle, middle_scale = resized(gray, (_MIDDLE_PIXELS / gray.size) ** 0.5)
    small, small_scale = resized(middle, (_SMALL_PIXELS / middle.size) ** 0.5)
    found = engine.find(gray, quick=True, among="usual")
    found += engine.find(middle, quick=True, scale=middle_scale)
    found += engine.find(small, scale=small_scale * middle_scale)
    return found or engine.find(middle, scale=middle_scale) or engine.find(gray, quick=True)


def _looked_at_twice(found: list[CodeRead], gray: NDArray[np.uint8]) -> list[CodeRead]:
    """Drop what its bars do not bear out; where something was dropped, read the stripes once more, straightened."""
    looked = look_again(gray, found)
    return looked.kept + (look_again(gray, read_stripes(gray)).kept if looked.doubted else [])


def _beside(gray: NDArray[np.uint8], found: list[CodeRead]) -> list[CodeRead]:
    more = read_beside(gray, found)
    return look_again(gray, [code for code in more if not any(_same(code, other) for other in found)]).kept


def _each_once(found: list[CodeRead]) -> list[CodeRead]:
    """Drop what another pass found again: same text and symbology, or a piece of an ITF, with overlapping places."""
    kept: list[CodeRead] = []
    # An ITF has no stop character that a piece of it would lack: the longest is the whole one.
    for code in sorted(found, key=lambda code: -len(code.text) if code.symbology == "ITF" else 0):
        if not any(_same(code, other) for other in kept):
            kept.append(code)
    return kept


def _same(code: CodeRead, other: CodeRead) -> bool:
    if code.symbology != other.symbology or (code.text != other.text and code.symbology != "ITF"):
        return False
    mine, theirs = np.asarray(code.corners_px), np.asarray(other.corners_px)
    reach = max(float(np.ptp(theirs, axis=0).max()), float(np.ptp(mine, axis=0).max()))
    return float(np.linalg.norm(mine.mean(axis=0) - theirs.mean(axis=0))) < reach / 2


def _top(code: CodeRead) -> tuple[float, float]:
    corners = np.asarray(code.corners_px)
    return float(corners[:, 1].min()), float(corners[:, 0].min())
