"""Diameters and their ratio from the rings of a part, with all that is uncertain about them.

The ratio bore to OD needs no scale: the conics of two coplanar concentric circles give it exactly, whatever the tilt
and the camera. Millimetres need the card, and the height of the edge above the bench, which is the part's width, which
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
    from numpy.typing import NDArray

    from screener.vision.card import Card
    from screener.vision.rings.find import RingFit, RingPair

PartWord = Literal["bearing", "shaft_seal"]

HEIGHTS_MM = tuple(float(z) for z in (0, 2, 4, 6, 8, 10, 12, 14, 16, 20, 24, 28, 34, 40, 50, 60))
_HIGH_MM = 20.0


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
    """Relative standard uncertainty of an OD on the bench itself."""
    od_u_rel_per_mm: float = 0.0
    """What each millimetre of height adds (in squares) to it: how far the camera is depends on the focal length."""

    def od_for_width_mm(self, width_mm: float) -> float | None:
        """OD if the part is that wide: its edge stands one width, less a chamfer, above the bench."""
        if not self.od_at_height:
            return None
        heights, ods = zip(*self.od_at_height, strict=True)
        return float(np.interp(self._edge_mm(width_mm), heights, ods))

    def distance_u_rel(self, width_mm: float) -> float:
        """Relative standard uncertainty that the camera's distance alone leaves in the OD of a part that wide."""
        return self.od_u_rel_per_mm * self._edge_mm(width_mm)

    def _edge_mm(self, width_mm: float) -> float:
        """Height of the edge of a part that wide."""
        if not self.od_at_height:
            return 0.0
        heights, ods = zip(*self.od_at_height, strict=True)
        at_zero = float(np.interp(width_mm, heights, ods))
        return max(width_mm - RELATIVE_WIDTH.value * at_zero / 2, 0.0)


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
    kind : decides over which standard sizes the height of the edge is solved
    """
    ratio = _ratio(pair)
    if card is None:
        return Measures(ratio, None, None)
    from screener.vision.sizes import height_solved

    return height_solved(_with_scale(pair, card, ratio), kind)


def _ratio(pair: RingPair) -> Measured | None:
    if pair.bore is None:
        return None
    value = ratio_of_coplanar_circles(pair.bore.ellipse, pair.outer.ellipse)
    return Measured(value, value * math.hypot(_u_rel(pair.outer), _u_rel(pair.bore)))


def _u_rel(ring: RingFit) -> float:
    return math.hypot(ring.u_rel, ring.bias_px / ring.ellipse.a)


def _with_scale(pair: RingPair, card: Card, ratio: Measured | None) -> Measures:
    """OD for each height of the edge."""
    ellipse = pair.outer.ellipse
    outline, _ = points_on(ellipse, np.linspace(0, 2 * np.pi, 72, endpoint=False))
    at_height = tuple((z, 2 * _circle_radius(card.bench_mm(outline, z))) for z in HEIGHTS_MM)
    middle = (ellipse.cx, ellipse.cy)
    on_bench, above = card.u_rel_at(middle, 0.0), card.u_rel_at(middle, _HIGH_MM)
    per_mm = math.sqrt(max(above**2 - on_bench**2, 0.0)) / _HIGH_MM
    return Measures(ratio, None, None, at_height, math.hypot(on_bench, _u_rel(pair.outer)), per_mm)


def _circle_radius(points_mm: NDArray[np.float64]) -> float:
    """Radius of the least-squares circle (linear form) through points (n, 2)."""
    middle = points_mm.mean(axis=0)
    x, y = (points_mm - middle).T
    design = np.stack([2 * x, 2 * y, np.ones_like(x)], axis=1)
    (cx, cy, rest), *_ = np.linalg.lstsq(design, x * x + y * y, rcond=None)
    return math.sqrt(float(rest + cx * cx + cy * cy))
