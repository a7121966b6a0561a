"""Edge points with directions, and the smooth arcs that they form, of a small working copy of the photo.

A shop photo mixes shiny steel, black rubber and coloured plastic, so an edge is taken from whichever colour channel
shows it best, and what counts as an edge is set by the noise of the photo itself, not by a fixed step of grey.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

NOISE_FACTOR = 4.0
"""A weak edge stands this many noise gradients above nothing: 4 sigma leaves about one false pixel in ten thousand."""
SMOOTHING_PX = 1.4
NOISY = 2.0
"""Standard deviation of the noise, in grey levels of the working copy, above which it is taken out first: below it
smoothing is enough, and nothing of a good photo is changed."""
GRAIN = 8.0
"""Colours that differ by less than so many deviations, summed over the channels, are averaged."""


@dataclass(frozen=True, slots=True)
class EdgePoints:
    """Pixels where brightness changes most steeply: position (n, 2) and unit gradient (n, 2), dark to light."""

    xy: Floats
    gradient: Floats
    strength: Floats


@dataclass(frozen=True, slots=True)
class Arc:
    """A run of neighbouring edge pixels that bends one way."""

    xy: Floats
    gradient: Floats
    turning_rad: float


@dataclass(frozen=True, slots=True)
class EdgeMap:
    """All edge points of a photo and the arcs among them."""

    points: EdgePoints
    arcs: tuple[Arc, ...]


def steepest_gradient(
    image: Pixels, smoothing_px: float = SMOOTHING_PX
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Derivatives along x and y of the colour channel that changes most at each pixel.

    Parameters
    ----------
    image : (h, w) or (h, w, 3) uint8
    smoothing_px : standard deviation of the Gaussian applied first

    Returns
    -------
    dx, dy : (h, w) float32, grey levels per pixel
    """
    smooth = cv2.GaussianBlur(image.astype(np.float32), (0, 0), smoothing_px)
    dx = np.asarray(cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3, scale=0.125), dtype=np.float32)
    dy = np.asarray(cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3, scale=0.125), dtype=np.float32)
    if image.ndim == 2:
        return dx, dy
    best = np.argmax(dx * dx + dy * dy, axis=2)[..., None]
    along_x = np.take_along_axis(dx, best, 2)[..., 0].astype(np.float32)
    return along_x, np.take_along_axis(dy, best, 2)[..., 0].astype(np.float32)


def edge_map(image: Pixels, smoothing_px: float = SMOOTHING_PX) -> EdgeMap:
    """Find the edge points and arcs of a working copy (about a megapixel)."""
    dx, dy = steepest_gradient(_quieter(image), smoothing_px)
    magnitude = np.hypot(dx, dy)
    weak = NOISE_FACTOR * _noise_gradient(magnitude)
    strong = max(1.6 * weak, float(np.percentile(magnitude, 80)))
    edges = _thin_edges(dx, dy, weak, strong)
    ys, xs = np.nonzero(edges)
    gradient = np.stack([dx[ys, xs], dy[ys, xs]], axis=1).astype(np.float64)
    strength = np.maximum(magnitude[ys, xs].astype(np.float64), 1e-9)
    points = EdgePoints(np.stack([xs, ys], axis=1).astype(np.float64), gradient / strength[:, None], strength)
    return EdgeMap(points, tuple(_arcs(edges, dx, dy)))


def noise_of(image: Pixels) -> float:
    """Standard deviation of the noise in grey levels: the median size of what no plane or edge explains.

    The mask is Immerkaer's (Fast noise variance estimation, CVIU 64, 1996), whose response to noise is 6 sigma.
    """
    grey = image.mean(axis=2) if image.ndim == 3 else image
    response = cv2.filter2D(grey.astype(np.float32), cv2.CV_32F, _NOISE_MASK)
    return float(np.median(np.abs(response))) / (6 * 0.6745)


_NOISE_MASK = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32)


def _quieter(image: Pixels) -> Pixels:
    """A noisy picture with its grain averaged and its edges kept; any other as it is."""
    noise = noise_of(image)
    if noise < NOISY:
        return image
    for _ in range(2):
        image = np.asarray(cv2.bilateralFilter(image, 7, GRAIN * noise, 2.5), dtype=np.uint8)
    return image


def _noise_gradient(magnitude: NDArray[np.float32]) -> float:
    """Gradient that noise alone makes: the lower quartile of a photo is flat ground even on a grained bench."""
    quiet = float(np.percentile(magnitude[::3, ::3], 25))
    # A Rayleigh variable has its lower quartile at 0.76 sigma; 0.12 is the rounding of 8-bit grey levels.
    return max(quiet / 0.76, 0.12)


def _thin_edges(dx: NDArray[np.float32], dy: NDArray[np.float32], weak: float, strong: float) -> Pixels:
    """One-pixel-wide edges with hysteresis. OpenCV's Canny takes 16-bit derivatives, hence the scaling."""
    scale = 32.0
    limit = 32767.0
    ix = np.clip(dx * scale, -limit, limit).astype(np.int16)
    iy = np.clip(dy * scale, -limit, limit).astype(np.int16)
    return np.asarray(cv2.Canny(ix, iy, weak * scale, strong * scale, L2gradient=True), dtype=np.uint8)


def _arcs(edges: Pixels, dx: NDArray[np.float32], dy: NDArray[np.float32], least_px: int = 16) -> list[Arc]:
    """Chains of edge pixels, cut at junctions, corners and inflections."""
    simple = _without_junctions((edges > 0).astype(np.uint8))
    contours, tree = cv2.findContours(simple, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    found: list[Arc] = []
    for number, contour in enumerate(contours):
        # The inner side of a closed curve is the same curve once more.
        if len(contour) >= least_px and tree[0, number, 3] < 0 and _bends(np.asarray(contour, dtype=np.int32)):
            for piece in _smooth_pieces(_one_way(np.asarray(contour[:, 0, :], dtype=np.int32)), least_px):
                xs, ys = piece[:, 0], piece[:, 1]
                gradient = np.stack([dx[ys, xs], dy[ys, xs]], axis=1).astype(np.float64)
                gradient /= np.maximum(np.linalg.norm(gradient, axis=1, keepdims=True), 1e-9)
                found.append(Arc(piece.astype(np.float64), gradient, _turning(gradient)))
    return found


def _bends(contour: NDArray[np.int32]) -> bool:
    """Whether a chain can hold an arc: a straight one (wood grain, a card's edge) is as thin as a pixel or two."""
    (_, sides, _) = cv2.minAreaRect(contour)
    return min(sides) > 2.5


def _neighbour_tables() -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """For each of the 256 neighbourhoods: is it a needless corner, is it a junction. Bits go round from the east."""
    bits = (np.arange(256)[:, None] >> np.arange(8)) & 1
    branches = np.sum((bits == 0) & (np.roll(bits, -1, axis=1) == 1), axis=1)
    straight = bits[:, ::2]
    elbow = (straight.sum(axis=1) == 2) & ~(
        (straight[:, 0] & straight[:, 2]) | (straight[:, 1] & straight[:, 3])
    ).astype(bool)
    return elbow & (branches == 2), branches >= 3


_CORNER, _JUNCTION = _neighbour_tables()
_RING_WEIGHTS = np.array([[32, 64, 128], [16, 0, 1], [8, 4, 2]], dtype=np.float32)


def _without_junctions(on: Pixels) -> Pixels:
    """Take the elbows out of staircases, then the pixels where three or more branches meet."""
    checkers = np.indices(on.shape).sum(axis=0) & 1
    for parity in (0, 1):
        on = np.where(_CORNER[_ring_code(on)] & (checkers == parity), 0, on).astype(np.uint8)
    return np.where(_JUNCTION[_ring_code(on)], 0, on).astype(np.uint8)


def _ring_code(on: Pixels) -> NDArray[np.int16]:
    return np.asarray(cv2.filter2D(on, cv2.CV_16S, _RING_WEIGHTS, borderType=cv2.BORDER_CONSTANT), dtype=np.int16)


def _one_way(contour: NDArray[np.int32]) -> NDArray[np.int32]:
    """OpenCV walks an open curve there and back; keep one way."""
    n = len(contour)
    codes = contour[:, 0].astype(np.int64) * 65536 + contour[:, 1]
    _, first, counts = np.unique(codes, return_index=True, return_counts=True)
    if np.count_nonzero(counts > 1) < n // 4:
        return contour
    ends = first[counts == 1]
    rolled = np.roll(contour, -int(ends.min()) if len(ends) else 0, axis=0)
    return rolled[: n // 2 + 1]


def _smooth_pieces(chain: NDArray[np.int32], least_px: int) -> list[NDArray[np.int32]]:
    """Cut a chain where it bends sharply or changes the side that it bends to."""
    step = 6
    if len(chain) < 2 * step + least_px // 2:
        return [chain] if len(chain) >= least_px else []
    kernel = np.ones(5) / 5
    xs = np.convolve(np.pad(chain[:, 0], 2, mode="edge"), kernel, "valid")
    ys = np.convolve(np.pad(chain[:, 1], 2, mode="edge"), kernel, "valid")
    heading = np.unwrap(np.arctan2(ys[step:] - ys[:-step], xs[step:] - xs[:-step]))
    bend = heading[step:] - heading[:-step]
    sharp = np.abs(bend) > 0.9
    long_step = 24
    side = np.zeros(len(chain), dtype=np.int64)
    if len(heading) > long_step + step:
        slow = heading[long_step:] - heading[:-long_step]
        sign = np.where(np.abs(slow) > 0.12, np.sign(slow), 0).astype(np.int64)
        start = step // 2 + long_step // 2
        side[start : start + len(sign)] = sign
    cuts = {0, len(chain)}
    cuts.update((np.nonzero(sharp)[0] + step).tolist())
    held = side[side != 0]
    where = np.nonzero(side)[0]
    flips = np.nonzero(held[1:] != held[:-1])[0]
    cuts.update(((where[flips] + where[flips + 1]) // 2).tolist())
    edges = sorted(cuts)
    return [chain[i:j] for i, j in pairwise(edges) if j - i >= least_px]


def _turning(gradient: Floats) -> float:
    """Angle through which the gradient turns along the arc, rad."""
    angles = np.unwrap(np.arctan2(gradient[:, 1], gradient[:, 0]))
    return float(abs(np.median(angles[-5:]) - np.median(angles[:5])))
