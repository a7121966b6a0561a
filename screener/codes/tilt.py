"""The tilt that a picture itself shows: where stripes lie in it, and in which direction they run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_WORKING_WIDTH = 1000
_BLOCK = 16
_BINS = 90
_LEAST_COHERENCE = 0.75
_MOST_PATCHES = 3
_LEAST_BLOCKS = 6
_SAME_DIRECTION_DEG = 9.0
_TILTED_DEG = 6.0


@dataclass(frozen=True, slots=True)
class Stripes:
    """A patch in which all edges run one way, as the bars of a linear code do."""

    turn_deg: float
    """Counter-clockwise turn that stands the bars upright, in (-90, 90]."""
    left: int
    top: int
    right: int
    bottom: int


def is_tilted(stripes: Stripes) -> bool:
    """Tell whether the bars are far from upright and from lying."""
    off_deg = abs((stripes.turn_deg + 45.0) % 90.0 - 45.0)
    return off_deg > _TILTED_DEG


def crosses_squarely(gray: NDArray[np.uint8], corners: NDArray[np.float64]) -> bool:
    """Tell whether a linear code was read square across its bars.

    Parameters
    ----------
    gray
        Shape (height, width).
    corners
        Of the code, shape (4, 2), from its own top left, in pixels.
    """
    along = corners[1] + corners[2] - corners[0] - corners[3]
    left, top = np.maximum(corners.min(axis=0).astype(int) - _BLOCK // 2, 0)
    right, bottom = corners.max(axis=0).astype(int) + _BLOCK // 2
    patch = gray[top:bottom, left:right].astype(np.float32)
    if min(patch.shape) < _BLOCK // 2:
        return False
    gx, gy = cv2.Scharr(patch, cv2.CV_32F, 1, 0), cv2.Scharr(patch, cv2.CV_32F, 0, 1)
    across_deg = np.degrees(0.5 * np.arctan2(2 * float((gx * gy).sum()), float((gx * gx - gy * gy).sum())))
    off_deg = (np.degrees(np.arctan2(along[1], along[0])) - across_deg + 90.0) % 180.0 - 90.0
    return bool(abs(off_deg) < _TILTED_DEG)


def stripes_in(gray: NDArray[np.uint8]) -> tuple[Stripes, ...]:
    """Find patches of stripes, the strongest first.

    Blocks whose gradients all point one way (structure tensor) are joined with neighbours of the same direction: a
    barcode gives a patch of many such blocks, text and texture few.

    Parameters
    ----------
    gray
        Shape (height, width).
    """
    scale = min(1.0, _WORKING_WIDTH / gray.shape[1])
    small = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else gray
    if min(small.shape) < 4 * _BLOCK:
        return ()
    energy, angle_deg = _directions(small.astype(np.float32))
    step = (gray.shape[1] / energy.shape[1], gray.shape[0] / energy.shape[0])
    patches: list[Stripes] = []
    for _ in range(_MOST_PATCHES):
        patch = _strongest(energy, angle_deg, step, gray.shape)
        if patch is None:
            break
        patches.append(patch)
    return tuple(patches)


def _directions(gray: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return strength (0 where there is no one direction) and gradient direction in [0, 180) of each block."""
    gx, gy = cv2.Scharr(gray, cv2.CV_32F, 1, 0), cv2.Scharr(gray, cv2.CV_32F, 0, 1)
    size = (gray.shape[1] // _BLOCK, gray.shape[0] // _BLOCK)
    means = [cv2.resize(product, size, interpolation=cv2.INTER_AREA) for product in (gx * gx, gy * gy, gx * gy)]
    # A block alone may hold one bar's edge; with its neighbours it shows whether stripes go on.
    xx, yy, xy = (cv2.blur(mean, (3, 3)) for mean in means)
    total = xx + yy
    coherence = np.hypot(xx - yy, 2 * xy) / (total + 1e-6)
    strength = np.where((coherence > _LEAST_COHERENCE) & (total > np.percentile(total, 60)), np.sqrt(total), 0.0)
    return strength.astype(np.float64), np.degrees(0.5 * np.arctan2(2 * xy, xx - yy)).astype(np.float64) % 180.0


def _strongest(
    energy: NDArray[np.float64], angle_deg: NDArray[np.float64], step: tuple[float, float], shape: tuple[int, ...]
) -> Stripes | None:
    """Take the strongest patch out of ``energy`` (which it clears there)."""
    votes = np.bincount((angle_deg * (_BINS / 180.0)).astype(int).ravel() % _BINS, energy.ravel(), _BINS)
    top = int(np.argmax(votes + np.roll(votes, 1) + np.roll(votes, -1)))
    apart = np.abs((angle_deg - (top + 0.5) * 180.0 / _BINS + 90.0) % 180.0 - 90.0)
    mine = ((apart < _SAME_DIRECTION_DEG) & (energy > 0)).astype(np.uint8)
    joined = cv2.morphologyEx(mine, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    count, labels = cv2.connectedComponents(joined)
    sums = np.bincount(labels.ravel(), (energy * mine).ravel(), count)[1:]
    if count < 2 or sums.max() <= 0:
        return None
    patch = (labels == 1 + int(np.argmax(sums))) & (mine > 0)
    weights = energy[patch]
    doubled = np.radians(2 * angle_deg[patch])
    mean_deg = np.degrees(0.5 * np.arctan2((weights * np.sin(doubled)).sum(), (weights * np.cos(doubled)).sum()))
    energy[patch] = 0
    if int(patch.sum()) < _LEAST_BLOCKS:
        return None
    return _around(patch, float(mean_deg), step, shape)


def _around(patch: NDArray[np.bool_], turn_deg: float, step: tuple[float, float], shape: tuple[int, ...]) -> Stripes:
    """Return the patch's box in picture pixels with room for quiet zones."""
    rows, columns = np.nonzero(patch)
    margin = 0.2 * max(np.ptp(columns) * step[0], np.ptp(rows) * step[1]) + 2 * max(step)
    return Stripes(
        turn_deg=turn_deg,
        left=max(0, int(columns.min() * step[0] - margin)),
        top=max(0, int(rows.min() * step[1] - margin)),
        right=min(shape[1], int((columns.max() + 1) * step[0] + margin)),
        bottom=min(shape[0], int((rows.max() + 1) * step[1] + margin)),
    )
