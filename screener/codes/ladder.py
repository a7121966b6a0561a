"""What is tried when the plain image gave nothing, cheapest and surest first.

As a first step each of these loses more reads than it gains (measured on real photos); after the plain image they
only add.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.codes import engine
from screener.codes.second_look import look_again
from screener.codes.tilt import Stripes, is_tilted, stripes_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from screener.codes.model import CodeRead, Point

# Above this the rungs work on a smaller picture: they cost seconds at 12 megapixels.
_MOST_PIXELS = 2_500_000
_LARGEST_DOUBLED = 2_000_000
_SQUARE_DEG = 4.0
_MATRIX = ("Data Matrix", "QR Code", "Micro QR Code", "rMQR Code", "Aztec", "MaxiCode")


def climb(gray: NDArray[np.uint8]) -> list[CodeRead]:
    """Try the rungs in turn on a picture in which nothing was read; the first that reads something ends it.

    Parameters
    ----------
    gray
        Shape (height, width).
    """
    for rung in _rungs(gray):
        found = look_again(gray, (code for code in rung() if engine.believable(code))).kept
        if found:
            return found
    return []


def read_stripes(gray: NDArray[np.uint8]) -> list[CodeRead]:
    """Read only the patches of stripes, straightened: a second look at linear codes."""
    return [code for stripes in stripes_in(gray) for code in _turned(gray, stripes)]


def read_beside(gray: NDArray[np.uint8], found: Sequence[CodeRead]) -> list[CodeRead]:
    """Read linear codes once more with the photo turned as a code that was found lies: a label's codes lie alike.

    A matrix code is read at any tilt, the bars beside it are not. Empty where everything lies square, or where bars
    were read already.
    """
    if any(code.symbology not in _MATRIX for code in found):
        return []
    tilts = [tilt for code in found if code.corners_px and abs(tilt := _tilt_deg(code)) > _SQUARE_DEG]
    if not tilts:
        return []
    small, scale = shrunk(gray, _MOST_PIXELS)
    upright, turn = turned_by(small, tilts[0], 1.0, cv2.INTER_LINEAR)
    back = np.asarray(cv2.invertAffineTransform(turn), dtype=np.float64) / scale
    return [
        replace(code, corners_px=_moved(code.corners_px, back))
        for code in engine.find(upright, quick=True, among="linear")
        if engine.believable(code)
    ]


def _tilt_deg(code: CodeRead) -> float:
    """How far a code's edges are off the picture's, in [-45, 45)."""
    top_left, top_right, bottom_right, bottom_left = np.asarray(code.corners_px)
    x, y = top_right + bottom_right - top_left - bottom_left
    return (math.degrees(math.atan2(y, x)) + 45.0) % 90.0 - 45.0


def shrunk(gray: NDArray[np.uint8], most_pixels: int) -> tuple[NDArray[np.uint8], float]:
    """Return the picture with at most so many pixels, and how many of its pixels make one of the original."""
    if gray.size <= most_pixels:
        return gray, 1.0
    return resized(gray, (most_pixels / gray.size) ** 0.5)


def resized(gray: NDArray[np.uint8], scale: float) -> tuple[NDArray[np.uint8], float]:
    """Return the picture scaled, and the scale that whole pixels gave."""
    height, width = gray.shape
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    # Halving whole pixels is many times quicker than averaging over parts of them.
    while scale <= 0.5 and gray.shape[0] // 2 >= size[1] and gray.shape[1] // 2 >= size[0]:
        half = (gray.shape[1] // 2, gray.shape[0] // 2)
        gray = np.asarray(cv2.resize(gray[: 2 * half[1], : 2 * half[0]], half, interpolation=cv2.INTER_AREA), np.uint8)
    return np.asarray(cv2.resize(gray, size, interpolation=way), dtype=np.uint8), size[0] / width


def _rungs(gray: NDArray[np.uint8]) -> Iterator[Callable[[], list[CodeRead]]]:
    # A tilted code first of all: on it the other rungs catch a scan line that crosses half of the bars, and misread.
    patches = stripes_in(gray)
    tilted, upright = (tuple(p for p in patches if is_tilted(p) is want) for want in (True, False))
    for stripes in tilted:
        yield partial(_turned, gray, stripes)
    small, scale = shrunk(gray, _MOST_PIXELS)
    yield lambda: engine.find(_even_light(small), scale=scale)
    yield lambda: engine.find(small, other_binarizer=True, scale=scale)
    if small.size <= _LARGEST_DOUBLED:
        yield lambda: _doubled(small, scale)
    yield lambda: engine.find(_sharpened(small), scale=scale)
    for stripes in upright:
        yield partial(_turned, gray, stripes)


def _even_light(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.asarray(cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(gray), dtype=np.uint8)


def _doubled(gray: NDArray[np.uint8], scale: float) -> list[CodeRead]:
    large, factor = resized(gray, 2.0)
    return engine.find(large, scale=scale * factor)


def _sharpened(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    soft = cv2.GaussianBlur(gray, (0, 0), 2.0)
    return np.asarray(cv2.addWeighted(gray, 2.0, soft, -1.0, 0.0), dtype=np.uint8)


def _turned(gray: NDArray[np.uint8], stripes: Stripes) -> list[CodeRead]:
    """Read a patch of stripes turned upright and enlarged; corners are those of the picture as it was."""
    patch = gray[stripes.top : stripes.bottom, stripes.left : stripes.right]
    upright, turn = turned_by(patch, stripes.turn_deg, _enlarging(patch))
    back = np.asarray(cv2.invertAffineTransform(turn), dtype=np.float64)
    back[:, 2] += (stripes.left, stripes.top)
    return [replace(code, corners_px=_moved(code.corners_px, back)) for code in engine.find(upright)]


def _enlarging(patch: NDArray[np.uint8]) -> float:
    """Twice for small patches, so that turning does not smear thin bars; less for large ones, which need no more."""
    return min(2.0, math.sqrt(_MOST_PIXELS / patch.size))


def turned_by(
    gray: NDArray[np.uint8], angle_deg: float, scale: float, way: int = cv2.INTER_CUBIC
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Turn and scale a picture about its middle, the canvas grown to hold it; return it with the 2 x 3 transform."""
    height, width = gray.shape
    turn = np.asarray(cv2.getRotationMatrix2D((width / 2, height / 2), angle_deg, scale), dtype=np.float64)
    cosine, sine = abs(turn[0, 0]), abs(turn[0, 1])
    size = (int(height * sine + width * cosine) + 1, int(height * cosine + width * sine) + 1)
    turn[:, 2] += (size[0] / 2 - width / 2, size[1] / 2 - height / 2)
    picture = cv2.warpAffine(gray, turn, size, flags=way, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(picture, dtype=np.uint8), turn


def _moved(corners: tuple[Point, ...], transform: NDArray[np.float64]) -> tuple[Point, ...]:
    points = np.asarray(corners, dtype=np.float64) @ transform[:, :2].T + transform[:, 2]
    return tuple((float(x), float(y)) for x, y in points)
