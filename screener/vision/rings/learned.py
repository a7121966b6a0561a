"""Ring edges by a small network: which circle of a chamfer is which, that geometry alone cannot tell.

The part is unwrapped about a rough outer ellipse (rows: radius, columns: angle); for each angle the network gives a
distribution over the radius for each of four circles: the full OD and the outer edge of the top face, the inner edge of
the top face and the full bore. Robust ellipses through their means are the answer. It was trained on traced and
drawn pictures (tests/training); where its file or onnxruntime is missing, geometry stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screener.vision import networks
from screener.vision.rings.learned_fit import LearnedCircle, circle_through, directions, mirrored, reduced, row_means
from screener.vision.unwrap import stretch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse

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


@dataclass(frozen=True, slots=True)
class LearnedRings:
    """The four circles of a part."""

    od_full: LearnedCircle
    od_top_edge: LearnedCircle
    bore_top_edge: LearnedCircle
    bore_full: LearnedCircle
    moved_rel: float
    """By how much the outer circle moved between the last two looks, over its radius."""


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
    session = networks.network_if_there(MODEL, networks.threads())
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
    other = _one_way(session, np.ascontiguousarray(mirrored(strips)))
    return np.asarray((_one_way(session, strips) + mirrored(other)) / 2, np.float32)


def unwrapped(image: Pixels, rough: Ellipse) -> Pixels:
    """Strip (ROWS, COLUMNS, 3) of a part; outside the photo it is black."""
    part = reduced(image, rough, RHO_LAST, STRIP_RADIUS_PX)
    if part is None:
        return np.zeros((ROWS, COLUMNS, 3), np.uint8)
    rho = RHO_FIRST + STEP * np.arange(ROWS)
    return part.sampled(rho[:, None, None] * directions(COLUMNS) @ stretch(rough) + [rough.cx, rough.cy])


def _network_input(strip: Pixels) -> NDArray[np.float32]:
    light = strip.astype(np.float32).transpose(2, 0, 1)[None] / 255.0
    return np.asarray((light - light.mean()) / (light.std() + 0.02), np.float32)


def _circles(logits: NDArray[np.float32], rough: Ellipse) -> list[LearnedCircle] | None:
    """Ellipse through each circle's radii; ``logits`` (4, ROWS, COLUMNS / STRIDE)."""
    kept = []
    for one in logits:
        rows, spread = row_means(one)
        circle = circle_through(RHO_FIRST + STEP * rows, spread, rough, STEP * rough.a, STEP)
        if circle is None:
            return None
        kept.append(circle)
    return kept
