"""What is tried when the plain image gave nothing, cheapest and surest first.

As a first step each of these loses more reads than it gains (measured on real photos); after the plain image they
only add.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.codes import engine
from screener.codes.tilt import bar_tilts_deg

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from screener.codes.model import CodeRead, Point

# Above this the rungs work on a smaller picture: they cost seconds at 12 megapixels.
_MOST_PIXELS = 2_500_000
_LARGEST_DOUBLED = 2_000_000


def climb(gray: NDArray[np.uint8]) -> list[CodeRead]:
    """Try the rungs in turn on a picture in which nothing was read; the first that reads something ends it.

    Parameters
    ----------
    gray
        Shape (height, width).
    """
    small, scale = shrunk(gray, _MOST_PIXELS)
    for rung in _rungs(small, scale):
        found = [code for code in rung() if engine.believable(code)]
        if found:
            return found
    return []


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
    return np.asarray(cv2.resize(gray, size, interpolation=way), dtype=np.uint8), size[0] / width


def _rungs(gray: NDArray[np.uint8], scale: float) -> Iterator[Callable[[], list[CodeRead]]]:
    yield lambda: engine.find(_even_light(gray), scale=scale)
    yield lambda: engine.find(gray, other_binarizer=True, scale=scale)
    if gray.size <= _LARGEST_DOUBLED:
        yield lambda: _doubled(gray, scale)
    yield lambda: engine.find(_sharpened(gray), scale=scale)
    for tilt_deg in bar_tilts_deg(gray):
        yield lambda tilt_deg=tilt_deg: _turned(gray, scale, tilt_deg)  # type: ignore[misc]


def _even_light(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.asarray(cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(gray), dtype=np.uint8)


def _doubled(gray: NDArray[np.uint8], scale: float) -> list[CodeRead]:
    large, factor = resized(gray, 2.0)
    return engine.find(large, scale=scale * factor)


def _sharpened(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    soft = cv2.GaussianBlur(gray, (0, 0), 2.0)
    return np.asarray(cv2.addWeighted(gray, 2.0, soft, -1.0, 0.0), dtype=np.uint8)


def _turned(gray: NDArray[np.uint8], scale: float, tilt_deg: float) -> list[CodeRead]:
    """Read the picture turned so that the bars stand upright; corners are those of the picture as it was."""
    upright, turn = turned_by(gray, tilt_deg)
    back = np.asarray(cv2.invertAffineTransform(turn), dtype=np.float64)
    return [replace(code, corners_px=_moved(code.corners_px, back, scale)) for code in engine.find(upright)]


def turned_by(gray: NDArray[np.uint8], angle_deg: float) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Turn a picture about its middle, the canvas grown to hold it; return it with the 2 x 3 transform."""
    height, width = gray.shape
    turn = np.asarray(cv2.getRotationMatrix2D((width / 2, height / 2), angle_deg, 1.0), dtype=np.float64)
    cosine, sine = abs(turn[0, 0]), abs(turn[0, 1])
    size = (int(height * sine + width * cosine) + 1, int(height * cosine + width * sine) + 1)
    turn[:, 2] += (size[0] / 2 - width / 2, size[1] / 2 - height / 2)
    picture = cv2.warpAffine(gray, turn, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(picture, dtype=np.uint8), turn


def _moved(corners: tuple[Point, ...], transform: NDArray[np.float64], scale: float) -> tuple[Point, ...]:
    points = np.asarray(corners, dtype=np.float64) @ transform[:, :2].T + transform[:, 2]
    return tuple((float(x) / scale, float(y) / scale) for x, y in points)
