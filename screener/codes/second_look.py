"""Which reads are kept. Of retail numbers the bars themselves are asked, and where they cannot say, the second reader.

On blurred drawings one EAN in eight came back from the engine as another number with a right check digit; the bars
told nearly all of them, and what number it was (tests/codes/measure_decode.py).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screener.codes.bars import what_bars_say
from screener.codes.check_digits import gs1_number_holds
from screener.codes.retail_bars import suppressed
from screener.codes.second_reader import with_second_reader
from screener.codes.tilt import crosses_squarely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from screener.codes.bars import BarsSay
    from screener.codes.model import CodeRead

RETAIL = ("EAN-13", "EAN-8", "UPC-A", "UPC-E")
# A scan line that enters tilted bars at the side and leaves them at the top reads fewer pairs of an ITF, and of an
# EAN-13 exactly one of the others; the second reader, on the same line, does so too.
_PIECE_OF_ANOTHER = ("ITF", "EAN-8", "UPC-E")
_THIN_PX = 8.0
# Of right reads on drawn photos 95 % lie above; what fitted worse or as well as another number was often wrong.
_LIKE, _MARGIN = 0.93, 0.03
# Without a right check digit nothing else speaks for the number.
_LIKE_ALONE, _MARGIN_ALONE = 0.95, 0.04


@dataclass(frozen=True, slots=True)
class Looked:
    """Codes after the second look."""

    kept: list[CodeRead]
    doubted: bool
    """Whether something that may be a code was left out."""


def look_again(gray: NDArray[np.uint8], found: Iterable[CodeRead]) -> Looked:
    """Compare every retail number with its bars, and take an ITF only where the whole of it was crossed.

    Other codes carry check characters or stop characters of their own and stay.

    Parameters
    ----------
    gray
        The photo that the codes' corners refer to.
    found
        As the engine read them. One with `check_digit` ``bad`` stays only if the bars say the same for sure.
    """
    looked = [_looked(gray, code) for code in found]
    return Looked([code for code in looked if code is not None], doubted=None in looked)


def _looked(gray: NDArray[np.uint8], code: CodeRead) -> CodeRead | None:
    if code.symbology in _PIECE_OF_ANOTHER and not _crossed_whole(gray, code):
        return None
    if code.symbology not in RETAIL:
        return code
    says = what_bars_say(gray, code)
    if says is not None and _sure(says, code.symbology):
        return replace(code, text=says.number) if code.symbology != "UPC-E" else _unless_other(code, says)
    agreed = code.check_digit != "bad" and with_second_reader(gray, code).confirmed_by
    return code if agreed else None


def _sure(says: BarsSay, symbology: str) -> bool:
    if symbology == "UPC-E" or gs1_number_holds(says.number):
        return says.likeness >= _LIKE and says.margin >= _MARGIN
    return says.likeness >= _LIKE_ALONE and says.margin >= _MARGIN_ALONE


def _unless_other(code: CodeRead, says: BarsSay) -> CodeRead | None:
    """Keep a UPC-E only as it was read: its parities are its check digit, so nothing would check a mended one."""
    return code if suppressed(code.text) == says.number else None


def _crossed_whole(gray: NDArray[np.uint8], code: CodeRead) -> bool:
    """Tell whether a code was read square across its bars, and of a retail number over more than a line or two."""
    thick = _height_px(code) >= (0.0 if code.symbology == "ITF" else _THIN_PX)
    return len(code.corners_px) == 4 and thick and crosses_squarely(gray, np.asarray(code.corners_px, np.float64))


def _height_px(code: CodeRead) -> float:
    if len(code.corners_px) != 4:
        return 0.0
    corners = np.asarray(code.corners_px)
    return float(np.linalg.norm(corners[3] - corners[0]) + np.linalg.norm(corners[2] - corners[1])) / 2
