"""Diameters and their ratio from the rings of a part, with all that is uncertain about them.

The ratio bore to OD needs no scale: the conics of two coplanar concentric circles give it exactly, whatever the tilt and
the camera. Millimetres need the card, and the height of the edge above the bench, which is the part's width, which
depends on the size that is being sought: it is solved over the standard sizes together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from screener.vision.model import Ellipse, Measured
from screener.vision.rings.chamfer import RELATIVE_WIDTH
from screener.vision.rings.conics import ellipse_to_conic, points_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.card import Card
    from screener.vision.rings.find import RingFit, RingPair

PartWord = Literal["bearing", "shaft_seal"]

HEIGHTS_MM = tuple(float(z) for z in (0, 2, 4, 6, 8, 10, 12, 14, 16, 20, 24, 28, 34, 40, 50, 60))
SEAL_CHAMFER = Measured(0.02, 0.01)
"""Moulded edges of shaft seals are broken by a few tenths of a millimetre only."""
EDGE_BIAS_PX = 0.25
"""Sharpening and compression in the phone move an edge by up to a quarter of a pixel, the same way all round."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What the rings of one part say about its size."""

    bore_to_od: Measured | None
    """d/D of the part, chamfers taken off."""
    od_mm: Measured | None
    bore_mm: Measured | None
    od_at_height: tuple[tuple[float, float], ...] = ()
    """(height of the edge above the bench in mm, OD in mm if the edge is that high); empty without a card."""
    od_u_rel: float = 0.0
    """Relative standard uncertainty of the OD once the height is known."""

    def od_for_width_mm(self, width_mm: float) -> float | None:
        """OD if the part is that wide: its edge stands one width, less half a chamfer, above the bench."""
        if not self.od_at_height:
            return None
        heights, ods = zip(*self.od_at_height, strict=True)
        at_zero = float(np.interp(width_mm, heights, ods))
        height = max(width_mm - 0.5 * RELATIVE_WIDTH.value * at_zero / 2, 0.0)
        return float(np.interp(height, heights, ods))


def ratio_of_coplanar_circles(inner: Ellipse, outer: Ellipse) -> float:
    """Radius ratio of two concentric circles of one plane from their images, exact under perspective.

    With conics A (inner) and B (outer), the matrix A^-1 B is similar to diag(1, 1, R^2 / r^2) up to a factor.
    """
    size = outer.a

    def local(e: Ellipse) -> NDArray[np.float64]:
        moved = Ellipse((e.cx - outer.cx) / size, (e.cy - outer.cy) / size, e.a / size, e.b / size, e.angle_deg)
        return ellipse_to_conic(moved)

    values = np.linalg.eigvals(np.linalg.solve(local(inner), local(outer)))
    order = np.argsort(np.abs(values))
    double = abs(float(np.mean(np.real(values[order[:2]]))))
    return math.sqrt(double / float(np.abs(values[order[2]])))


def measure(pair: RingPair, card: Card | None = None, *, kind: PartWord = "bearing") -> Measures:
    """Measure one part.

    Parameters
    ----------
    pair : rings of the part, in photo pixels
    card : the scale card of the same photo, or None: then there is a ratio and no millimetres
    kind : shaft seals have sharper edges, and their free OD is larger than the housing that names them
    """
    chamfer = RELATIVE_WIDTH if kind == "bearing" else SEAL_CHAMFER
    ratio = _ratio(pair, chamfer)
    if card is None:
        return Measures(ratio, None, None)
    draft = _with_scale(pair, card, ratio, chamfer)
    from screener.vision.sizes import height_solved

    return height_solved(draft, kind)


def _ratio(pair: RingPair, chamfer: Measured) -> Measured | None:
    """d/D with the chamfers taken off: both edges are moved to the full diameters."""
    if pair.bore is None:
        return None
    seen = ratio_of_coplanar_circles(pair.bore.ellipse, pair.outer.ellipse)

    def full(outer_at: float, bore_at: float, width: float) -> float:
        return (seen - (1 - bore_at) * width) / (1 + (1 - outer_at) * width)

    o, b = pair.outer_place, pair.bore_place
    value = full(o.value, b.value, chamfer.value)
    steps = (
        full(o.value + o.u, b.value, chamfer.value) - value,
        full(o.value, b.value + b.u, chamfer.value) - value,
        full(o.value, b.value, chamfer.value + chamfer.u) - value,
        value * _edge_u_rel(pair.outer),
        value * _edge_u_rel(pair.bore),
    )
    return Measured(value, math.sqrt(sum(step * step for step in steps)))


def _edge_u_rel(ring: RingFit) -> float:
    return math.hypot(ring.u_rel, EDGE_BIAS_PX / ring.ellipse.a)


def _with_scale(pair: RingPair, card: Card, ratio: Measured | None, chamfer: Measured) -> Measures:
    """OD for each height of the edge."""
    outline, _ = points_on(pair.outer.ellipse, np.linspace(0, 2 * np.pi, 72, endpoint=False))
    place = pair.outer_place
    grown = 1 + (1 - place.value) * chamfer.value
    at_height = tuple((z, 2 * _circle_radius(card.bench_mm(outline, z)) * grown) for z in HEIGHTS_MM)
    centre = (pair.outer.ellipse.cx, pair.outer.ellipse.cy)
    u_rel = math.sqrt(
        card.u_rel_at(centre, 8.0) ** 2
        + _edge_u_rel(pair.outer) ** 2
        + (place.u * chamfer.value) ** 2
        + ((1 - place.value) * chamfer.u) ** 2
    )
    return Measures(ratio, None, None, at_height, u_rel)


def _circle_radius(points_mm: NDArray[np.float64]) -> float:
    """Radius of the least-squares circle (linear form) through points (n, 2)."""
    middle = points_mm.mean(axis=0)
    x, y = (points_mm - middle).T
    design = np.stack([2 * x, 2 * y, np.ones_like(x)], axis=1)
    (cx, cy, rest), *_ = np.linalg.lstsq(design, x * x + y * y, rcond=None)
    return math.sqrt(float(rest + cx * cx + cy * cy))
