"""Ring edges by a small network: which circle of a chamfer is which, that geometry alone cannot tell.

The part is unwrapped about a rough outer ellipse (rows: radius, columns: angle); for each angle the network gives a
distribution over the radius for each of four circles: the full OD and the outer edge of the top face, the inner edge of
the top face and the full bore. Robust ellipses through their means are the answer. It was trained on traced and
drawn pictures (tests/training); where its file or onnxruntime is missing, geometry stands alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from screener.vision import networks
from screener.vision.model import Ellipse
from screener.vision.rings.conics import fit_ellipse, signed_distance
from screener.vision.unwrap import stretch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Pixels = NDArray[np.uint8]

MODEL = Path(__file__).with_name("ring_edges.onnx")
ROWS, COLUMNS, STRIDE = 192, 256, 2
RHO_FIRST, RHO_LAST = 0.18, 1.30
"""Radii of the first and the last row, in units of the rough ellipse. These five are the network's own."""
STEP = (RHO_LAST - RHO_FIRST) / (ROWS - 1)
TRAINED_SPREAD_REL = STEP
"""Spread of the distributions that it was trained to give, one row; more is doubt."""
STRIP_RADIUS_PX = 190.0
"""Outer radius to which a part is reduced before it is unwrapped: one row is then one pixel."""
PASSES = 2
"""The second looks from the outer circle of the first, at the strip and at its mirror image."""
PEAK_ROWS = 6
"""Half of the window about the highest row over which the mean is taken."""
FIT_ROUNDS = 3


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


@dataclass(frozen=True, slots=True)
class LearnedRings:
    """The four circles of a part."""

    od_full: LearnedCircle
    od_top_edge: LearnedCircle
    bore_top_edge: LearnedCircle
    bore_full: LearnedCircle
    moved_rel: float
    """By how much the outer circle moved between the last two looks, over its radius."""


@cache
def _session(threads: int | None) -> Any | None:
    """The network, or None where its file or the runtime is missing."""
    if not MODEL.is_file():
        return None
    try:
        return networks.open_network(MODEL, threads)
    except ImportError:
        return None


def learned_rings(image: Pixels, rough: Ellipse) -> LearnedRings | None:
    """Find the four circles of a part near a rough outer ellipse.

    Parameters
    ----------
    image : (h, w, 3) RGB uint8
    rough : its outer edge, within about a tenth

    Returns
    -------
    None where the network is missing or its answers make no ellipses.
    """
    session = _session(networks.threads())
    if session is None or image.ndim != 3:
        return None
    outer, moved = rough, 1.0
    circles: list[LearnedCircle] = []
    for look in range(PASSES):
        strips = _network_input(unwrapped(image, outer))
        found = _circles(_both_ways(session, strips) if look == PASSES - 1 else _one_way(session, strips), outer)
        if found is None:
            return None
        circles = found
        moved = float(np.hypot(circles[0].ellipse.cx - outer.cx, circles[0].ellipse.cy - outer.cy)) / outer.a
        moved = max(moved, abs(circles[0].ellipse.a / outer.a - 1), abs(circles[0].ellipse.b / outer.b - 1))
        outer = circles[0].ellipse
    od_full, od_top_edge, bore_top_edge, bore_full = circles
    return LearnedRings(od_full, od_top_edge, bore_top_edge, bore_full, moved)


def _one_way(session: Any, strips: NDArray[np.float32]) -> NDArray[np.float32]:
    """Logits (4, ROWS, COLUMNS / STRIDE) of one strip (1, 3, ROWS, COLUMNS)."""
    return np.asarray(session.run(None, {"strips": strips})[0][0], np.float32)


def _both_ways(session: Any, strips: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean of the logits of a strip and of its mirror image: what the network does not know, it says differently."""
    mirrored = np.ascontiguousarray(_mirrored(strips))
    return np.asarray((_one_way(session, strips) + _mirrored(_one_way(session, mirrored))) / 2, np.float32)


def _mirrored(around: NDArray[np.float32]) -> NDArray[np.float32]:
    """Columns in the other sense of turning, the first kept (angle t becomes -t)."""
    return np.roll(around[..., ::-1], 1, axis=-1)


def unwrapped(image: Pixels, rough: Ellipse) -> Pixels:
    """Strip (ROWS, COLUMNS, 3) of a part; outside the photo it is black."""
    scale = min(1.0, STRIP_RADIUS_PX / rough.a)
    height, width = image.shape[:2]
    reach = RHO_LAST * rough.a + 4.0
    x0, x1 = max(int(rough.cx - reach), 0), min(int(rough.cx + reach) + 2, width)
    y0, y1 = max(int(rough.cy - reach), 0), min(int(rough.cy + reach) + 2, height)
    cut = image[y0:y1, x0:x1]
    if cut.size == 0:
        return np.zeros((ROWS, COLUMNS, 3), np.uint8)
    if scale < 1.0:
        size = (max(round((x1 - x0) * scale), 2), max(round((y1 - y0) * scale), 2))
        cut = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_AREA), np.uint8)
    grow = np.array([cut.shape[1] / (x1 - x0), cut.shape[0] / (y1 - y0)])
    rho = RHO_FIRST + STEP * np.arange(ROWS)
    at = rho[:, None, None] * _directions(COLUMNS) @ stretch(rough) + [rough.cx, rough.cy]
    where = ((at - [x0, y0] + 0.5) * grow - 0.5).astype(np.float32)
    strip = cv2.remap(cut, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    return np.asarray(strip, np.uint8)


def _directions(count: int) -> Floats:
    angle = np.arange(count) * (2 * math.pi / count)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _network_input(strip: Pixels) -> NDArray[np.float32]:
    light = strip.astype(np.float32).transpose(2, 0, 1)[None] / 255.0
    return np.asarray((light - light.mean()) / (light.std() + 0.02), np.float32)


def _circles(logits: NDArray[np.float32], rough: Ellipse) -> list[LearnedCircle] | None:
    """Ellipse through each circle's radii; ``logits`` (4, ROWS, COLUMNS / STRIDE)."""
    found = [_fitted(*_row_means(one), rough) for one in logits]
    kept = [circle for circle in found if circle is not None]
    return kept if len(kept) == len(found) else None


def _row_means(logits: NDArray[np.float32]) -> tuple[Floats, Floats]:
    """Mean and spread over the rows about the highest, both (columns,), in rows."""
    p = np.exp(logits.astype(np.float64) - logits.max(axis=0))
    p /= p.sum(axis=0)
    rows = np.arange(len(p), dtype=np.float64)[:, None]
    spread = np.sqrt(np.maximum((p * rows**2).sum(axis=0) - (p * rows).sum(axis=0) ** 2, 0.0))
    near = np.abs(rows - p.argmax(axis=0)) <= PEAK_ROWS
    p = p * near
    return np.asarray((p * rows).sum(axis=0) / p.sum(axis=0)), np.asarray(spread)


def _fitted(rows: Floats, spread: Floats, rough: Ellipse) -> LearnedCircle | None:
    """Weighted least squares, weights falling with the spread and with the distance from the last ellipse."""
    radius = RHO_FIRST + STEP * rows
    points = radius[:, None] * _directions(len(rows)) @ stretch(rough) + [rough.cx, rough.cy]
    row_px = STEP * rough.a
    sure = 1.0 / (1.0 + (spread / 1.5) ** 2)
    weights = sure
    ellipse: Ellipse | None = None
    off = np.zeros_like(rows)
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
        spread_rel=float(np.median(spread)) * STEP,
        scatter_rel=1.4826 * float(np.median(np.abs(off))) * STEP,
        held=float(np.mean(np.abs(off) < 2.0)),
    )
