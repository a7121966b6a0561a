"""The face of a part as a straight strip in which only what changes along the circle is left.

Rings, grooves, chamfers and the shading across the face run along the strip; letters cross it. Taking each row's own
running level away leaves the letters, whatever the light, and makes dark and light etching the same thing but for the
sign.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.model import Ellipse
from screener.vision.unwrap import RingStrip, ring_at, unwrap_ring

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Point

RADIUS_ROWS = 480
"""Rows of the strip for the outer radius. Capitals are usually 5-8 % of it high: 24-38 rows."""
FINE_RADIUS_ROWS = 860
"""For capitals half as high, where the photo has the pixels."""
SQUEEZE = 0.6
"""Along the circle the strip is this much narrower than the part: the recogniser fails on wide letter pitch."""
_BEYOND_EDGE = 0.02
_NO_BORE_RATIO = 0.45
_LEAST_BORE, _MOST_BORE = 0.1, 0.9
_BACKGROUND_PX = 121
_NOISE_WINDOW = (241, 25)
_LEAST_NOISE = 1.5
_BURNT_LEVEL = 252


@dataclass(frozen=True, slots=True)
class FaceStrip:
    """One turn of the face; columns wrap around.

    ``levels`` (rows, columns) float32: departure from the row's running level in units of the local spread, clipped to
    ±4. Row 0 is the outermost.
    """

    levels: NDArray[np.float32]
    shade: NDArray[np.uint8]
    """(rows, columns): the face as it looks."""
    geometry: RingStrip
    radius_rows: int
    photo_px_per_row: float

    def relative_radius(self, row: float) -> float:
        """Radius at a row as a share of the outer radius."""
        return 1.0 + _BEYOND_EDGE - row / self.radius_rows

    def cut(self, x0: float, x1: float, y0: float, y1: float) -> NDArray[np.float32]:
        """Rectangle of the strip; columns wrap, rows beyond the strip repeat its last row."""
        return np.asarray(self.levels[self._window(x0, x1, y0, y1)], np.float32)

    def cut_evenly_lit(self, x0: float, x1: float, y0: float, y1: float) -> NDArray[np.float32]:
        """Like ``cut``, but of the face itself, evened out in both directions about its middle.

        Letters keep what stands along the circle, and faint ones keep their feet where the level turns over.
        """
        looks = self.shade[self._window(x0, x1, y0, y1)].astype(np.float32)
        apart = looks - cv2.GaussianBlur(looks, (0, 0), 0.4 * (y1 - y0))
        spread = np.sqrt(cv2.GaussianBlur(apart * apart, (0, 0), 0.55 * (y1 - y0))) + _LEAST_NOISE
        return np.asarray(np.clip(apart / spread, -4.0, 4.0), np.float32)

    def burnt_share(self, x0: float, x1: float, y0: float, y1: float) -> float:
        """Share of a rectangle that is burnt out."""
        return float((self.shade[self._window(x0, x1, y0, y1)] >= _BURNT_LEVEL).mean())

    def _window(self, x0: float, x1: float, y0: float, y1: float) -> tuple[NDArray[np.intp], ...]:
        columns = np.arange(math.floor(x0), math.ceil(x1)) % self.levels.shape[1]
        rows = np.clip(np.arange(math.floor(y0), math.ceil(y1)), 0, self.levels.shape[0] - 1)
        return np.ix_(rows, columns)

    def photo_region(self, x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
        """Outline of a strip rectangle in the photo."""
        return self.geometry.photo_region(x0, y0, x1, y1)


def straighten_face(
    gray: NDArray[np.uint8], outer: Ellipse, bore: Ellipse | None, *, radius_rows: int = RADIUS_ROWS
) -> FaceStrip:
    """Unwrap a part's face, from just beyond its outer edge to its bore.

    Parameters
    ----------
    gray
        (H, W) uint8, the whole photo.
    outer, bore
        In pixels of the photo. Without a bore the inner rings are taken as concentric in the photo, which holds for
        small tilts.
    radius_rows
        Rows for the outer radius.
    """
    inner = bore
    if inner is None or not _LEAST_BORE < _size_ratio(inner, outer) < _MOST_BORE:
        inner = Ellipse(outer.cx, outer.cy, outer.a * _NO_BORE_RATIO, outer.b * _NO_BORE_RATIO, outer.angle_deg)
    ratio = _size_ratio(inner, outer)
    edge = ring_at(inner, outer, -_BEYOND_EDGE / (1.0 - ratio))
    rows = round(radius_rows * (1.0 + _BEYOND_EDGE - ratio))
    columns = round(2 * math.pi * 0.9 * radius_rows * SQUEEZE)
    strip = unwrap_ring(gray, inner, edge, width_px=columns, height_px=rows)
    geometry = RingStrip(inner, edge, columns, rows)
    return FaceStrip(_letters_only(strip), strip, geometry, radius_rows, math.sqrt(outer.a * outer.b) / radius_rows)


def _size_ratio(inner: Ellipse, outer: Ellipse) -> float:
    return math.sqrt(inner.a * inner.b / (outer.a * outer.b))


def around(image: NDArray[np.float32], margin: int) -> NDArray[np.float32]:
    """Repeat the strip's ends beyond each other, so that filters see the closed circle."""
    return np.hstack([image[:, -margin:], image, image[:, :margin]])


def _letters_only(strip: NDArray[np.uint8]) -> NDArray[np.float32]:
    margin = _NOISE_WINDOW[0]
    wide = around(strip.astype(np.float32), margin)
    level = cv2.blur(wide, (_BACKGROUND_PX, 1))
    spread = np.sqrt(np.maximum(cv2.blur((wide - level) ** 2, (_BACKGROUND_PX, 3)), 0.0)) + 1.0
    # Letters would pull the level towards themselves: take it again with what stands out held back.
    level = cv2.blur(np.clip(wide, level - spread, level + spread), (_BACKGROUND_PX, 1))
    apart = wide - level
    noise = np.sqrt(np.maximum(cv2.blur(apart**2, _NOISE_WINDOW), 0.0)) + _LEAST_NOISE
    return np.asarray(np.clip(apart / noise, -4.0, 4.0)[:, margin:-margin], np.float32)
