"""Rectify a ring: the band between two ellipses becomes a straight strip, and strip points lead back to the photo.

A circle seen tilted is an ellipse ``centre + S·(cos θ, sin θ)``, with S the symmetric matrix of its stretch. Unlike the
angle of the major axis, S stays well defined when the circle is seen from straight above, and for concentric circles in
one plane it only grows with the radius, so θ means the same direction on all of them.

Conventions: θ runs from +x towards +y (clockwise on screen). Strip columns go with θ, row 0 lies on the outer ellipse,
the last row on the inner one: text with its tops outward stands upright, text with its tops inward needs half a turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from screener.vision.model import Ellipse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Point

MAX_PERSPECTIVE = 0.25
"""Radius of the part by its distance, times the sine of the tilt: 26 mm at 60 mm and 35° is 0.25."""


@dataclass(frozen=True, slots=True)
class RingStrip:
    """Where a strip lies in the photo: everything needed to go from strip to photo."""

    inner: Ellipse
    outer: Ellipse
    width_px: int
    height_px: int
    start_deg: float = 0.0
    turns: float = 1.0

    def photo_point(self, x: float, y: float) -> Point:
        """Photo position of strip position (x = column, y = row; centres of pixels are whole numbers)."""
        px, py = self.photo_points(np.array([x]), np.array([y]))
        return float(px[0]), float(py[0])

    def photo_region(self, x0: float, y0: float, x1: float, y1: float, *, steps: int = 8) -> tuple[Point, ...]:
        """Outline in the photo of a strip rectangle, with ``steps`` points along each curved side."""
        along = np.linspace(x0, x1, max(2, steps))
        xs = np.concatenate([along, along[::-1]])
        ys = np.concatenate([np.full(along.size, y0), np.full(along.size, y1)])
        px, py = self.photo_points(xs, ys)
        return tuple((float(a), float(b)) for a, b in zip(px, py, strict=True))

    def photo_points(self, x: NDArray[Any], y: NDArray[Any]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Vectorised `photo_point`; x and y broadcast against each other."""
        theta = math.radians(self.start_deg) + np.asarray(x, dtype=np.float64) * (
            2.0 * math.pi * self.turns / self.width_px
        )
        inward = np.asarray(y, dtype=np.float64) / max(1, self.height_px - 1)
        return ring_points(self.inner, self.outer, inward, theta)


def ring_points(
    inner: Ellipse, outer: Ellipse, inward: NDArray[Any] | float, theta: NDArray[Any] | float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Photo points between two concentric rings.

    Parameters
    ----------
    inner, outer
        Images of two concentric circles.
    inward
        0 on the outer ellipse, 1 on the inner; linear in the circle's radius; may go beyond either.
    theta
        Direction in radians, from +x towards +y; broadcasts against ``inward``.

    Returns
    -------
    x, y
        Photo coordinates in pixels.
    """
    inward = np.asarray(inward, dtype=np.float64)
    s_out, s_in = stretch(outer), stretch(inner)
    share = _centre_share(inner, outer, inward)
    theta = theta + _perspective_turn(inner, outer, inward, np.asarray(theta, dtype=np.float64))
    cos, sin = np.cos(theta), np.sin(theta)
    m = [[s_out[i, j] + (s_in[i, j] - s_out[i, j]) * inward for j in (0, 1)] for i in (0, 1)]
    x = outer.cx + (inner.cx - outer.cx) * share + m[0][0] * cos + m[0][1] * sin
    y = outer.cy + (inner.cy - outer.cy) * share + m[1][0] * cos + m[1][1] * sin
    return x, y


def _perspective_turn(
    inner: Ellipse, outer: Ellipse, inward: NDArray[np.float64], theta: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far a direction on the part is turned on the ellipse by perspective (radians, first order).

    In the part's plane, scaled by S, a point r·u appears at r·u / (1 + r·g·u); the circle's image is then centred at
    -r²·g, and seen from that centre the point lies turned by r·(g·u⊥). The centres of two circles give g. Without this,
    evenly spaced balls look unevenly spaced, and radial lines lean, by up to 10° in close tilted shots.
    """
    ratio = _size_ratio(inner, outer)
    g = perspective(inner, outer)
    size = float(np.hypot(*g))
    if size > MAX_PERSPECTIVE:  # a wrong pair of ellipses must not wring the strip
        g *= MAX_PERSPECTIVE / size
    radius = 1.0 + (ratio - 1.0) * inward
    return np.asarray(radius * (g[1] * np.cos(theta) - g[0] * np.sin(theta)))


def perspective(inner: Ellipse, outer: Ellipse) -> NDArray[np.float64]:
    """Vector g (2,) of two concentric circles: a point r·u of the outer one's plane appears at r·u / (1 + r·g·u)."""
    shift = np.array([outer.cx - inner.cx, outer.cy - inner.cy])
    return np.asarray(-np.linalg.solve(stretch(outer), shift) / (1.0 - _size_ratio(inner, outer) ** 2))


def _size_ratio(inner: Ellipse, outer: Ellipse) -> float:
    return min(0.999, math.sqrt(inner.a * inner.b / (outer.a * outer.b)))


def _centre_share(inner: Ellipse, outer: Ellipse, inward: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far the centre has moved from the outer's to the inner's.

    Under perspective the centre of a circle's image leaves the image of the circle's centre with the square of the
    radius, so the centre is interpolated in radius squared.
    """
    ratio = _size_ratio(inner, outer)
    radius = 1.0 + (ratio - 1.0) * inward
    return np.asarray((1.0 - radius**2) / (1.0 - ratio**2))


def stretch(ellipse: Ellipse) -> NDArray[np.float64]:
    """Symmetric 2 × 2 matrix that takes the unit circle to the ellipse (about its centre)."""
    t = math.radians(ellipse.angle_deg)
    turn = np.array([[math.cos(t), -math.sin(t)], [math.sin(t), math.cos(t)]])
    return np.asarray(turn @ np.diag([ellipse.a, ellipse.b]) @ turn.T)


def ring_at(inner: Ellipse, outer: Ellipse, inward: float) -> Ellipse:
    """Ellipse of the concentric circle at ``inward`` (0 = outer, 1 = inner, linear in radius)."""
    share = float(_centre_share(inner, outer, np.asarray(inward)))
    s = stretch(outer) + (stretch(inner) - stretch(outer)) * inward
    values, vectors = np.linalg.eigh(s)
    angle = math.degrees(math.atan2(vectors[1, 1], vectors[0, 1])) % 180.0
    return Ellipse(
        cx=outer.cx + (inner.cx - outer.cx) * share,
        cy=outer.cy + (inner.cy - outer.cy) * share,
        a=float(values[1]),
        b=float(values[0]),
        angle_deg=angle,
    )


def unwrap_ring(
    image: NDArray[np.uint8],
    inner: Ellipse,
    outer: Ellipse,
    *,
    width_px: int,
    height_px: int,
    start_deg: float = 0.0,
    turns: float = 1.0,
) -> NDArray[np.uint8]:
    """Straighten the band between two ellipses.

    Parameters
    ----------
    image
        Gray (height × width) or RGB (height × width × 3).
    inner, outer
        Images of two concentric circles, in pixels of ``image``.
    width_px, height_px
        Size of the strip.
    start_deg
        Direction of the first column, from +x towards +y.
    turns
        How much of the circle the width covers; 1.5 keeps any text whole somewhere.

    Returns
    -------
    strip
        height_px × width_px (× 3). Outside the photo it is black.
    """
    strip = RingStrip(inner, outer, width_px, height_px, start_deg, turns)
    x, y = strip.photo_points(np.arange(width_px)[None, :], np.arange(height_px)[:, None])
    return sampled(image, x, y, px_per_px=_photo_px_per_strip_px(strip))


def sampled(
    image: NDArray[np.uint8], x: NDArray[np.float64], y: NDArray[np.float64], *, px_per_px: float
) -> NDArray[np.uint8]:
    """Values of an image at positions, averaged where these lie much wider apart than its pixels.

    Parameters
    ----------
    image
        Gray (height × width) or RGB (height × width × 3).
    x, y
        Positions in pixels of ``image``, of one shape (rows × columns). Outside the image it is black.
    px_per_px
        Image pixels from one position to the next.
    """
    crop, left, top, (shrink_x, shrink_y) = _crop_for(image, x, y, px_per_px)
    # Pixel centres: position p in the photo lies at (p - left + 0.5) * shrink - 0.5 in the shrunken crop.
    map_x = ((x - left + 0.5) * shrink_x - 0.5).astype(np.float32)
    map_y = ((y - top + 0.5) * shrink_y - 0.5).astype(np.float32)
    out = cv2.remap(crop, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(out, dtype=np.uint8)


def _photo_px_per_strip_px(strip: RingStrip) -> float:
    """Finest of the two samplings, so that shrinking never loses what the strip could show."""
    around = math.pi * (strip.outer.a + strip.outer.b) * strip.turns / strip.width_px
    across = (strip.outer.b - strip.inner.b) / max(1, strip.height_px)
    return min(abs(around), abs(across))


def _crop_for(
    image: NDArray[np.uint8], x: NDArray[np.float64], y: NDArray[np.float64], px_per_px: float
) -> tuple[NDArray[np.uint8], int, int, tuple[float, float]]:
    """Cut out what the strip needs and average it down when the strip is much coarser than the photo (no aliasing)."""
    height, width = image.shape[:2]
    left, right = _span(x, width)
    top, bottom = _span(y, height)
    crop = np.ascontiguousarray(image[top:bottom, left:right])
    if px_per_px < 1.6:
        return crop, left, top, (1.0, 1.0)
    size = (max(1, round(crop.shape[1] / px_per_px)), max(1, round(crop.shape[0] / px_per_px)))
    small = cv2.resize(crop, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), left, top, (size[0] / crop.shape[1], size[1] / crop.shape[0])


def _span(values: NDArray[np.float64], limit: int) -> tuple[int, int]:
    """First and one-past-last pixel needed, inside the photo and at least one pixel long."""
    low = min(max(0, math.floor(float(values.min())) - 2), limit - 1)
    high = max(low + 1, min(limit, math.ceil(float(values.max())) + 3))
    return low, high
