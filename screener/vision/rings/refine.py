"""Sub-pixel position of a ring in the photo's own pixels."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.conics import fit_ellipse, points_on, relative_radius_u, signed_distance

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

PROFILES = 180


@dataclass(frozen=True, slots=True)
class RefinedRing:
    """A ring fitted to sub-pixel edge points."""

    ellipse: Ellipse
    points: Floats
    """Edge points kept, (n, 2) px."""
    coverage: float
    scatter_px: float
    u_rel: float
    """Relative standard uncertainty of the radius from the scatter of the points."""


def refine_ring(image: Pixels, ellipse: Ellipse, outward: int, reach_px: float) -> RefinedRing | None:
    """Move an ellipse onto the steepest place of brightness across it.

    Parameters
    ----------
    image : (h, w) or (h, w, 3) uint8, the photo or a part of it
    ellipse : start, within reach_px of the edge
    outward : +1 if it is brighter outside, -1 if darker
    reach_px : how far to look on either side
    """
    for reach in (reach_px, max(0.6 * reach_px, 2.0)):
        points = _edge_points(image, ellipse, outward, reach)
        if len(points) < 0.2 * PROFILES:
            return None
        again, kept = _robust(points, ellipse)
        if again is None:
            return None
        ellipse = again
    kept_points = points[kept]
    scatter = float(np.sqrt(np.mean(signed_distance(ellipse, kept_points) ** 2)))
    # Neighbouring profiles share texture and compression blocks: one independent point in about four.
    u_rel = relative_radius_u(ellipse, kept_points, independent=len(kept_points) / 4)
    return RefinedRing(ellipse, kept_points, len(kept_points) / PROFILES, scatter, u_rel)


def _edge_points(image: Pixels, ellipse: Ellipse, outward: int, reach: float) -> Floats:
    """Best edge point on each profile that has one, (n, 2)."""
    on, normal = points_on(ellipse, np.linspace(0, 2 * np.pi, PROFILES, endpoint=False))
    step = 0.5
    margin = 2.0
    at = np.arange(-reach - margin, reach + margin + step / 2, step)
    where = (on[:, None, :] + at[None, :, None] * normal[:, None, :]).astype(np.float32)
    profile = cv2.remap(image, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    slope = _slope(profile.astype(np.float64).reshape(PROFILES, len(at), -1), step) * outward
    height, width = image.shape[:2]
    inside = np.all((where > 0) & (where < [width - 1, height - 1]), axis=2).all(axis=1)
    inner = np.abs(at) <= reach
    # Between equal edges the nearer one is meant.
    score = np.where(inner, slope * np.exp(-0.5 * (at / reach) ** 2), -1.0)
    best = np.argmax(score, axis=1)
    row = np.arange(PROFILES)
    peak = slope[row, best]
    quiet = 0.25 * np.median(peak[inside]) if inside.any() else np.inf
    good = inside & (peak > max(quiet, 0.15)) & (best > 0) & (best < len(at) - 1)
    row, best = row[good], best[good]
    before, middle, after = slope[row, best - 1], slope[row, best], slope[row, best + 1]
    bend = before - 2 * middle + after
    shift = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1.0), 0.0)
    return np.asarray(on[row] + (at[best] + step * np.clip(shift, -1, 1))[:, None] * normal[row])


def _slope(profile: Floats, step: float) -> Floats:
    """Derivative along the profile of the channel that changes most, smoothed over about a pixel."""
    offsets = np.arange(-4, 5)
    kernel = -offsets * np.exp(-0.5 * (offsets * step / 0.9) ** 2)
    kernel = kernel / np.abs((kernel * offsets * step).sum())
    padded = np.pad(profile, ((0, 0), (4, 4), (0, 0)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 9, axis=1)
    slopes = windows @ -kernel
    best = np.argmax(np.abs(slopes), axis=2)[..., None]
    return np.asarray(np.take_along_axis(slopes, best, 2)[..., 0])


def _robust(points: Floats, start: Ellipse) -> tuple[Ellipse | None, NDArray[np.bool_]]:
    """Re-weighted fit; points more than 3 robust deviations off are left out."""
    ellipse: Ellipse | None = start
    kept = np.ones(len(points), dtype=bool)
    for _ in range(5):
        if ellipse is None:
            return None, kept
        distance = signed_distance(ellipse, points)
        spread = max(1.4826 * float(np.median(np.abs(distance - np.median(distance)))), 0.1)
        kept = np.abs(distance) < 3.0 * spread + 0.2
        weights = 1.0 / (1.0 + (distance / (2.0 * spread)) ** 2) * kept
        ellipse = fit_ellipse(points, weights + 1e-9, start=ellipse, rounds=2)
    return ellipse, kept
