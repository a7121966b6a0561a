"""Geometry and the trained network brought together: two readings of the same edges, weighed by how sure each is."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from screener.vision.model import Ellipse
from screener.vision.rings.learned import TRAINED_SPREAD_REL, learned_rings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from screener.vision.rings.find import RingFit, RingPair
    from screener.vision.rings.learned import LearnedCircle

LEAST_U_REL = 0.0015
"""Of the outer radius: what the network's radii are off by even where it has no doubt."""
ERROR_PER_DOUBT = 0.7
"""On 358 traced and drawn parts of other seeds and benches 95 % of the ratio's errors are then within 2.0 (traced,
small) and 1.3 to 1.5 (drawn) of its uncertainties; with the whole doubt 1.5 and 1.0, wider than needed."""
GEOMETRY_ERROR = 2.0
"""Geometry's circles on the same parts are off by two to three times of what it says, most where chamfers mirror the
bench; so much less it weighs beside the network."""
LEAST_HELD = 0.8
"""Share of the angles that must agree with an ellipse before the network is believed."""
MOST_MOVED = 0.02
"""A look that still moves the outer circle by more than this has not settled."""
AT_ODDS = 3.0
"""Beyond so many joint standard uncertainties the two do not read the same edge; the network, which saw the whole
face, is then taken alone."""


def sharpened(image: NDArray[np.uint8], pair: RingPair) -> RingPair:
    """Return the part with both its circles read a second time by the network.

    Parameters
    ----------
    image : (h, w, 3) RGB uint8
    pair : as geometry found it

    Returns
    -------
    The pair as it was where there is no network, or where its answer has not settled.
    """
    learned = learned_rings(image, pair.outer.ellipse)
    if learned is None or pair.bore is None or learned.moved_rel > MOST_MOVED:
        return pair
    if min(learned.od_full.held, learned.bore_full.held) < LEAST_HELD:
        return pair
    return replace(
        pair,
        outer=_together(pair.outer, learned.od_full, _u_rel(learned.od_full, learned.od_full)),
        bore=_together(pair.bore, learned.bore_full, _u_rel(learned.bore_full, learned.od_full)),
    )


def _u_rel(circle: LearnedCircle, outer: LearnedCircle) -> float:
    """Relative standard uncertainty of a circle's radius: what the distributions are wider than those trained for."""
    doubt = math.sqrt(max(circle.spread_rel**2 - TRAINED_SPREAD_REL**2, 0.0))
    return math.hypot(LEAST_U_REL, ERROR_PER_DOUBT * doubt) * outer.ellipse.a / circle.ellipse.a


def _together(found: RingFit, learned: LearnedCircle, u_rel: float) -> RingFit:
    """Inverse-variance mean of two near-equal ellipses; the turn of the axes is the network's."""
    one, other = found.ellipse, learned.ellipse
    found_u_rel = GEOMETRY_ERROR * max(found.u_rel, 1e-4)
    apart = math.hypot(one.cx - other.cx, one.cy - other.cy, one.a - other.a, one.b - other.b) / other.a
    if apart > AT_ODDS * math.hypot(found_u_rel, u_rel):
        return replace(found, ellipse=other, u_rel=u_rel)
    weight = u_rel**-2 / (u_rel**-2 + found_u_rel**-2)

    def mean(a: float, b: float) -> float:
        return (1 - weight) * a + weight * b

    ellipse = Ellipse(
        mean(one.cx, other.cx), mean(one.cy, other.cy), mean(one.a, other.a), mean(one.b, other.b), other.angle_deg
    )
    # Both look at one picture, so the mean is taken to be as sure as the surer of the two, not surer.
    return replace(found, ellipse=ellipse, u_rel=max(min(found_u_rel, u_rel), (1 - weight) * apart))
