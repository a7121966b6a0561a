"""Both edges of a part read again, close up, by a second small network.

The first look (`learned`) sees the whole face, at some 190 pixels a radius. This one sees two bands only, one about the
outer circle and one about the bore that were found, three to five times finer: enough to follow what a rounded chamfer
mirrors from its top edge to its end. It was trained on traced parts (tests/training/fine.py); where its file or
onnxruntime is missing, the first look stands.
"""

from __future__ import annotations

import math
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
    from screener.vision.rings.learned_fit import Reduced

    Pixels = NDArray[np.uint8]

MODEL = Path(__file__).with_name("edge_bands.onnx")
ROWS, COLUMNS, AROUND = 192, 256, 4
DEPTH_FIRST, DEPTH_LAST = -0.14, 0.07
"""Distance of the first and the last row beyond the edge, away from the face, in units of the outer radius.
These five are the network's own, as are the three below."""
STEP = (DEPTH_LAST - DEPTH_FIRST) / (ROWS - 1)
TRAINED_SPREAD_REL = 1.5 * STEP
"""Spread of the distributions that it was trained to give; more is doubt."""
RADIUS_PX = 290.0
"""Outer radius to which a part is reduced: the largest in training."""
LEAST_RADIUS_PX = 60.0
"""The smallest in training; below it the first look is as good."""
USUAL_RADIUS_PX = 200.0
PASSES = 2
"""The second looks from the circles of the first, at the bands and at their mirror images."""


@dataclass(frozen=True, slots=True)
class CloseUp:
    """The circles of the outside diameter and of the bore."""

    od_full: LearnedCircle
    bore_full: LearnedCircle
    moved_rel: float
    """By how much a circle moved between the last two looks, over the outer radius."""


def close_up(image: Pixels, outer: Ellipse, bore: Ellipse) -> CloseUp | None:
    """Read both edges again.

    Parameters
    ----------
    image : (h, w, 3) RGB uint8
    outer, bore : as found before, within about two per cent of the outer radius

    Returns
    -------
    None where the network is missing, the part too small in the photo, or the answers make no ellipses.
    """
    session = networks.network_if_there(MODEL, networks.threads())
    if session is None or outer.a < LEAST_RADIUS_PX:
        return None
    moved = 1.0
    found: tuple[LearnedCircle, LearnedCircle] | None = None
    for look in range(PASSES):
        part = reduced(image, outer, 1 + DEPTH_LAST, RADIUS_PX)
        if part is None:
            return None
        logits = _answer(session, _bands(part, outer, bore), _numbers(part, outer, bore), twice=look == PASSES - 1)
        od_full, bore_full = _circle(logits[0], outer, outer, 1.0), _circle(logits[3], bore, outer, -1.0)
        if od_full is None or bore_full is None:
            return None
        found = (od_full, bore_full)
        moved = max(_moved(od_full.ellipse, outer), _moved(bore_full.ellipse, bore)) / outer.a
        outer, bore = od_full.ellipse, bore_full.ellipse
    return CloseUp(*found, moved) if found is not None else None


def _moved(to: Ellipse, start: Ellipse) -> float:
    return max(math.hypot(to.cx - start.cx, to.cy - start.cy), abs(to.a - start.a), abs(to.b - start.b))


def _bands(part: Reduced, outer: Ellipse, bore: Ellipse) -> NDArray[np.float32]:
    """Strips (1, 6, ROWS, COLUMNS): three colours of the outer band, then of the bore's."""
    depth = DEPTH_FIRST + STEP * np.arange(ROWS)
    ways = directions(COLUMNS * AROUND, -(AROUND - 1) / 2)
    strips = []
    for edge, way in ((outer, 1.0), (bore, -1.0)):
        rho = 1 + way * depth * outer.a / edge.a
        colours = part.sampled(rho[:, None, None] * ways @ stretch(edge) + [edge.cx, edge.cy])
        strips.append(colours.reshape(ROWS, COLUMNS, AROUND, 3).astype(np.float32).mean(axis=2).transpose(2, 0, 1))
    light = np.concatenate(strips)[None] / 255.0
    return np.asarray((light - light.mean()) / (light.std() + 0.02), np.float32)


def _numbers(part: Reduced, outer: Ellipse, bore: Ellipse) -> NDArray[np.float32]:
    radius_px = outer.a * float(part.grow.mean())
    return np.array([[bore.a / outer.a, math.log2(radius_px / USUAL_RADIUS_PX), outer.b / outer.a]], np.float32)


def _answer(
    session: Any, strips: NDArray[np.float32], numbers: NDArray[np.float32], *, twice: bool
) -> NDArray[np.float32]:
    """Logits (4, ROWS, columns); ``twice``: the mean with those of the mirror image."""

    def one_way(seen: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.asarray(session.run(None, {"strips": seen, "numbers": numbers})[0][0], np.float32)

    logits = one_way(strips)
    if not twice:
        return logits
    return np.asarray((logits + mirrored(one_way(np.ascontiguousarray(mirrored(strips))))) / 2, np.float32)


def _circle(logits: NDArray[np.float32], edge: Ellipse, outer: Ellipse, way: float) -> LearnedCircle | None:
    rows, spread = row_means(logits)
    radius = 1 + way * (DEPTH_FIRST + STEP * rows) * outer.a / edge.a
    return circle_through(radius, spread, edge, STEP * outer.a, STEP)
