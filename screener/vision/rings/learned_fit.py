"""What the networks of the ring edges have in common: an ellipse through the radii that they give for each angle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.model import Ellipse
from screener.vision.rings.conics import fit_ellipse, signed_distance
from screener.vision.unwrap import stretch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Pixels = NDArray[np.uint8]

PEAK_ROWS = 6
"""Half of the window about the highest row over which the mean is taken."""
FIT_ROUNDS = 3
HELD_REL = 0.0117
"""An angle agrees with an ellipse that it is no further from than this, over the outer radius."""


@dataclass(frozen=True, slots=True)
class LearnedCircle:
    """One circle in photo pixels."""

    ellipse: Ellipse
    spread_rel: float
    """How far the network's distributions spread, median over the angles, over the outer radius."""
    scatter_rel: float
    """How far the angles scatter about the ellipse, over the outer radius."""
    held: float
    """Share of the angles that agree with the ellipse."""


def directions(count: int, offset: float = 0.0) -> Floats:
    """Unit vectors (count, 2) all round, from ``offset`` steps on."""
    angle = (np.arange(count) + offset) * (2 * math.pi / count)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def mirrored(around: NDArray[np.float32]) -> NDArray[np.float32]:
    """Columns in the other sense of turning, the first kept (angle t becomes -t)."""
    return np.roll(around[..., ::-1], 1, axis=-1)


@dataclass(frozen=True, slots=True)
class Reduced:
    """A part cut out of its photo and made smaller: what a strip is sampled from."""

    picture: Pixels
    corner_px: tuple[int, int]
    grow: Floats
    """Pixels of the picture by pixels of the photo, along x and y."""

    def sampled(self, at: Floats) -> Pixels:
        """Colours (..., 3) at photo points (..., 2); outside the photo it is black."""
        where = ((at - self.corner_px + 0.5) * self.grow - 0.5).astype(np.float32)
        strip = cv2.remap(self.picture, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(strip, np.uint8)


def reduced(image: Pixels, about: Ellipse, reach: float, radius_px: float) -> Reduced | None:
    """Cut out ``reach`` outer radii about an ellipse, so that its radius is at most ``radius_px``.

    Returns
    -------
    None where nothing of it lies in the photo.
    """
    scale = min(1.0, radius_px / about.a)
    height, width = image.shape[:2]
    far = reach * about.a + 4.0
    x0, x1 = max(int(about.cx - far), 0), min(int(about.cx + far) + 2, width)
    y0, y1 = max(int(about.cy - far), 0), min(int(about.cy + far) + 2, height)
    cut = image[y0:y1, x0:x1]
    if cut.size == 0:
        return None
    if scale < 1.0:
        size = (max(round((x1 - x0) * scale), 2), max(round((y1 - y0) * scale), 2))
        cut = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_AREA), np.uint8)
    return Reduced(cut, (x0, y0), np.array([cut.shape[1] / (x1 - x0), cut.shape[0] / (y1 - y0)]))


def row_means(logits: NDArray[np.float32]) -> tuple[Floats, Floats]:
    """Mean and spread over the rows about the highest, both (columns,), in rows."""
    p = np.exp(logits.astype(np.float64) - logits.max(axis=0))
    p /= p.sum(axis=0)
    rows = np.arange(len(p), dtype=np.float64)[:, None]
    spread = np.sqrt(np.maximum((p * rows**2).sum(axis=0) - (p * rows).sum(axis=0) ** 2, 0.0))
    near = np.abs(rows - p.argmax(axis=0)) <= PEAK_ROWS
    p = p * near
    return np.asarray((p * rows).sum(axis=0) / p.sum(axis=0)), np.asarray(spread)


def circle_through(
    radius: Floats, spread: Floats, rough: Ellipse, row_px: float, step_rel: float
) -> LearnedCircle | None:
    """Weighted least squares, weights falling with the spread and with the distance from the last ellipse.

    Parameters
    ----------
    radius : (columns,) in units of the rough ellipse
    spread : (columns,) in rows
    row_px, step_rel : a row in photo pixels and over the outer radius

    Returns
    -------
    LearnedCircle, or None where no ellipse can be fitted.
    """
    points = radius[:, None] * directions(len(radius)) @ stretch(rough) + [rough.cx, rough.cy]
    sure = 1.0 / (1.0 + (spread / 1.5) ** 2)
    weights = sure
    ellipse: Ellipse | None = None
    off = np.zeros_like(radius)
    for _ in range(FIT_ROUNDS):
        ellipse = fit_ellipse(points, weights, ellipse)
        if ellipse is None:
            return None
        off = signed_distance(ellipse, points) / row_px
        scale = max(1.4826 * float(np.median(np.abs(off))), 0.3)
        weights = sure / (1.0 + (off / (2.5 * scale)) ** 2) ** 2
    if ellipse is None:
        return None
    return LearnedCircle(
        ellipse=ellipse,
        spread_rel=float(np.median(spread)) * step_rel,
        scatter_rel=1.4826 * float(np.median(np.abs(off))) * step_rel,
        held=float(np.mean(np.abs(off) * step_rel < HELD_REL)),
    )
