"""The tilt that a picture itself shows: the direction in which stripes of bars run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_WORKING_WIDTH = 1000
_BLOCK = 32
_BINS = 90
_LEAST_COHERENCE = 0.75
_UPRIGHT_ENOUGH_DEG = 2.0
_MOST_TILTS = 2


def bar_tilts_deg(gray: NDArray[np.uint8]) -> tuple[float, ...]:
    """Estimate by how much to turn the picture so that bars stand upright, the likeliest first.

    Blocks whose gradients all point one way (structure tensor) vote for that direction, weighted by their strength:
    a barcode gives many such blocks, text and texture few. Turns are counter-clockwise, in (-90, 90].

    Parameters
    ----------
    gray
        Shape (height, width).
    """
    width = gray.shape[1]
    scale = min(1.0, _WORKING_WIDTH / width)
    small = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else gray
    if min(small.shape) < 2 * _BLOCK:
        return ()
    votes = _direction_votes(small.astype(np.float32))
    return tuple(turn for turn in _peaks_deg(votes) if abs(turn) > _UPRIGHT_ENOUGH_DEG)


def _direction_votes(gray: NDArray[np.float32]) -> NDArray[np.float64]:
    """Histogram over gradient directions, 2 degrees a bin, of blocks that have one direction."""
    gx, gy = cv2.Scharr(gray, cv2.CV_32F, 1, 0), cv2.Scharr(gray, cv2.CV_32F, 0, 1)
    size = (gray.shape[1] // _BLOCK * 2, gray.shape[0] // _BLOCK * 2)
    xx, yy, xy = (cv2.resize(product, size, interpolation=cv2.INTER_AREA) for product in (gx * gx, gy * gy, gx * gy))
    energy = xx + yy
    coherence = np.hypot(xx - yy, 2 * xy) / (energy + 1e-6)
    angle_deg = np.degrees(0.5 * np.arctan2(2 * xy, xx - yy)) % 180.0
    good = (coherence > _LEAST_COHERENCE) & (energy > np.percentile(energy, 60))
    bins = (angle_deg[good] * (_BINS / 180.0)).astype(int) % _BINS
    return np.bincount(bins, weights=np.sqrt(energy[good]), minlength=_BINS).astype(np.float64)


def _peaks_deg(votes: NDArray[np.float64]) -> list[float]:
    """Directions of the strongest peaks, each the weighted mean of its neighbourhood."""
    votes, peaks = votes.copy(), []
    for _ in range(_MOST_TILTS):
        smooth = votes + np.roll(votes, 1) + np.roll(votes, -1)
        top = int(np.argmax(smooth))
        if smooth[top] <= 0:
            break
        near = np.arange(top - 2, top + 3)
        weights = votes[near % _BINS]
        centre_deg = float(np.sum((near + 0.5) * weights) / np.sum(weights)) * 180.0 / _BINS
        peaks.append((centre_deg + 90.0) % 180.0 - 90.0)
        votes[np.arange(top - 4, top + 5) % _BINS] = 0
    return peaks
