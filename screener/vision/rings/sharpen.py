"""Geometry and the trained networks brought together: readings of the same edges, weighed by how sure each is.

The first network says which of a chamfer's edges is which; the second reads the outer circle and the bore again, close
up. Where the second has settled it is taken alone; else the first is weighed with geometry.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from screener.vision.model import Ellipse
from screener.vision.rings import close_up, learned

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from screener.vision.rings.find import RingFit, RingPair
    from screener.vision.rings.learned import LearnedRings
    from screener.vision.rings.learned_fit import LearnedCircle

LEAST_U_REL = 0.0015
"""Of the outer radius: what the first network's radii are off by even where it has no doubt."""
ERROR_PER_DOUBT = 0.7
"""On 358 traced and drawn parts of other seeds and benches 95 % of the ratio's errors are then within 2.0 (traced,
small) and 1.3 to 1.5 (drawn) of its uncertainties; with the whole doubt 1.5 and 1.0, wider than needed."""
GEOMETRY_ERROR = 2.0
"""Geometry's circles on the same parts are off by two to three times of what it says, most where chamfers mirror the
bench; so much less it weighs beside the network."""
LEAST_HELD = 0.8
"""Share of the angles that must agree with an ellipse before a network is believed."""
MOST_MOVED = 0.02
"""A first look that still moves the outer circle by more than this has not settled."""
MOST_MOVED_CLOSE = 0.01
"""The same of the second; it was taught to set right what is off by up to 0.025."""
CLOSE_LEAST_U_REL = 0.0004
CLOSE_ERROR_PER_DOUBT = 0.3
CLOSE_ERROR_PER_DOUBT_SQUARED = 250.0
CLOSE_BIAS_PX = 0.15
"""What the second network's radii are off by (over the outer radius), from 160 traced parts of other seeds and benches:
0.1 % where its doubt is 0.2 %, 0.45 % at 0.4 % and 1.1 % at 0.65 %, so about with the square of the doubt. With these
92 % of the ratios and 96 % of the outside diameters lie within 1.96 of their uncertainties; on photos as sharp as a
phone's usually are, more."""
AT_ODDS = 3.0
"""Beyond so many joint standard uncertainties geometry and the first network do not read the same edge; the network,
which saw the whole face, is then taken alone."""


def sharpened(image: NDArray[np.uint8], pair: RingPair) -> RingPair:
    """Return the part with both its circles read again by the networks.

    Parameters
    ----------
    image : (h, w, 3) RGB uint8
    pair : as geometry found it

    Returns
    -------
    The pair as it was where there is no network, or where its answer has not settled.
    """
    first = learned.learned_rings(image, pair.outer.ellipse)
    if first is None or pair.bore is None or first.moved_rel > MOST_MOVED:
        return pair
    if not _hold(first.od_full, first.bore_full):
        return pair
    second = close_up.close_up(image, first.od_full.ellipse, first.bore_full.ellipse)
    if second is None or second.moved_rel > MOST_MOVED_CLOSE or not _hold(second.od_full, second.bore_full):
        return _weighed(pair, pair.bore, first)
    return replace(
        pair,
        outer=_alone(pair.outer, second.od_full, second.od_full),
        bore=_alone(pair.bore, second.bore_full, second.od_full),
    )


def _hold(*circles: LearnedCircle) -> bool:
    return min(circle.held for circle in circles) >= LEAST_HELD


def _alone(found: RingFit, circle: LearnedCircle, outer: LearnedCircle) -> RingFit:
    doubt = _doubt(circle, close_up.TRAINED_SPREAD_REL)
    off = math.hypot(CLOSE_LEAST_U_REL, CLOSE_ERROR_PER_DOUBT * doubt, CLOSE_ERROR_PER_DOUBT_SQUARED * doubt**2)
    u_rel = off * outer.ellipse.a / circle.ellipse.a
    return replace(found, ellipse=circle.ellipse, u_rel=u_rel, bias_px=CLOSE_BIAS_PX)


def _weighed(pair: RingPair, bore: RingFit, first: LearnedRings) -> RingPair:
    """The first network's circles weighed with geometry's."""

    def u_rel(circle: LearnedCircle) -> float:
        doubt = ERROR_PER_DOUBT * _doubt(circle, learned.TRAINED_SPREAD_REL)
        return math.hypot(LEAST_U_REL, doubt) * first.od_full.ellipse.a / circle.ellipse.a

    return replace(
        pair,
        outer=_together(pair.outer, first.od_full, u_rel(first.od_full)),
        bore=_together(bore, first.bore_full, u_rel(first.bore_full)),
    )


def _doubt(circle: LearnedCircle, trained_spread_rel: float) -> float:
    """What the distributions are wider than those trained for, over the outer radius."""
    return math.sqrt(max(circle.spread_rel**2 - trained_spread_rel**2, 0.0))


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
