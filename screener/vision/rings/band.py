"""How far a chamfer reaches: where the flat face ends and where brightness has settled beyond the edge.

A chamfer shows as a band of changing brightness. Its near end is where the flat face stops; its far end is the outline,
or, where the far part of a rounded chamfer is as dark as what lies behind it, somewhat less.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.conics import points_on

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

SECTORS = 16
PER_SECTOR = 16
STEP_PX = 0.5
SMOOTHING_PX = 0.8
EDGE_LEVEL = 0.2
"""The band ends where the slope falls to this part of its greatest."""
SPREAD = 1.15
"""Blur widens a step by 1.8 and a ramp by 0.8 of its standard deviation on either side at that level."""
SHARP_PX = 1.1
"""Blur of a sharp photo, smoothing here included, as a standard deviation."""


@dataclass(frozen=True, slots=True)
class Band:
    """Ends of a chamfer's band, px along the radius from the ellipse that was given, positive away from the face."""

    face_px: float
    far_px: float
    u_px: float
    """Standard uncertainty of either end, from how the sectors scatter."""


def blur_of(image: Pixels, ellipses: list[Ellipse]) -> float:
    """Blur near some edges, px, smoothing here included: that of the sharpest of them.

    An edge of height h whose slope is s at most looks like a step blurred by h / (s sqrt(2 pi)).
    """
    widths = [_step_width(image, ellipse) for ellipse in ellipses]
    return min(max(min(widths, default=SHARP_PX), SHARP_PX), 4.0)


def _step_width(image: Pixels, ellipse: Ellipse) -> float:
    at = np.arange(-8.0, 8.0 + STEP_PX / 2, STEP_PX)
    slopes = _sector_slopes(image, ellipse, at)
    middle = len(at) // 2
    widths = []
    for slope in slopes:
        peak = middle - 4 + int(np.argmax(slope[middle - 4 : middle + 5]))
        high = slope > 0.1 * slope[peak]
        first, last = _walk(high, peak, -1, 0, 16), _walk(high, peak, 1, 0, 16)
        widths.append(float(slope[first : last + 1].sum()) * STEP_PX / max(2.507 * float(slope[peak]), 1e-9))
    return float(np.median(widths))


def chamfer_band(image: Pixels, ellipse: Ellipse, away: int, width_px: float, blur_px: float) -> Band | None:
    """Find the band around an edge.

    Parameters
    ----------
    image : (h, w, 3) or (h, w) uint8
    ellipse : the edge found on the chamfer
    away : +1 where the chamfer falls off outward (OD), -1 inward (bore)
    width_px : about the width of the chamfer
    blur_px : of the picture there
    """
    reach = 2.2 * width_px + 3.0
    at = np.arange(-reach, reach + STEP_PX / 2, STEP_PX)
    slopes = _sector_slopes(image, ellipse, away * at)
    ends = [_ends(slope, at, width_px) for slope in slopes]
    good = np.array([end for end in ends if end is not None])
    if len(good) < SECTORS // 2:
        return None
    face, far = np.median(good, axis=0)
    scatter = 1.4826 * np.median(np.abs(good - [face, far]), axis=0)
    u_px = 1.25 * float(scatter.max()) / np.sqrt(len(good))
    face, far = float(face) + SPREAD * blur_px, float(far) - SPREAD * blur_px
    return Band(min(face, 0.0), max(far, 0.0), max(u_px, 0.2))


def _sector_slopes(image: Pixels, ellipse: Ellipse, offsets_px: Floats) -> Floats:
    """(sectors, n) size of the brightness slope along the radius, from the median profile of each sector."""
    count = SECTORS * PER_SECTOR
    on, normal = points_on(ellipse, np.linspace(0, 2 * np.pi, count, endpoint=False))
    where = (on[:, None, :] + offsets_px[None, :, None] * normal[:, None, :]).astype(np.float32)
    profile = cv2.remap(image, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    profile = profile.reshape(SECTORS, PER_SECTOR, len(offsets_px), -1).astype(np.float64).mean(axis=3)
    middle = np.median(profile, axis=1)
    smooth = cv2.GaussianBlur(
        middle, (0, 0), sigmaX=SMOOTHING_PX / STEP_PX, sigmaY=0.01, borderType=cv2.BORDER_REPLICATE
    )
    return np.asarray(np.abs(np.gradient(smooth, axis=1)), dtype=np.float64)


def _ends(slope: Floats, at: Floats, width_px: float) -> tuple[float, float] | None:
    """Walk from the steepest place near the edge both ways until the slope stays low."""
    near = np.abs(at) <= 1.0 * width_px + 1.0
    peak = int(np.argmax(np.where(near, slope, 0.0)))
    level = EDGE_LEVEL * slope[peak]
    if slope[peak] <= 0:
        return None
    high = slope > level
    gap = max(round(0.3 * width_px / STEP_PX), 2)
    limit = round(1.5 * width_px / STEP_PX)
    return at[_walk(high, peak, -1, gap, limit)], at[_walk(high, peak, 1, gap, limit)]


def _walk(high: NDArray[np.bool_], start: int, step: int, gap: int, limit: int) -> int:
    last, here = start, start
    while 0 <= here + step < len(high) and abs(here - start) < limit and abs(here + step - last) <= gap + 1:
        here += step
        if high[here]:
            last = here
    return last
