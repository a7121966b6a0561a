"""From the edge that was seen on a chamfer to the full diameter, and what that leaves open.

Between the flat face (position 0) and the cylinder (position 1) lies the chamfer, about 3.5 % of the OD radius wide and
up to a tenth of the bore radius. Which of its edges shows depends on the light. Two things can be said:

- where the part ends against something brighter (outside the OD, inside the bore), the edge is the outline
  itself: position 1;
- where bright steel turns dark, a rounded chamfer is seen to turn from mirroring what is above to mirroring the bench.
  Looking down, that is where it leans by 45 degrees, position sin 45 = 0.71; what lies beyond may be as dark as its
  surroundings. So the far end of the band is anywhere from 0.71 to 1.
"""

from __future__ import annotations

import math

from screener.vision.model import Ellipse, Measured
from screener.vision.rings.band import Band
from screener.vision.rings.conics import scaled

OUTLINE = Measured(0.96, 0.12)
ABOVE_HORIZON = Measured(0.87, 0.15)
"""Even from 0.71 to 1 would be 0.855 with 0.085; the rest is the error of finding the end."""

RELATIVE_WIDTH = Measured(0.036, 0.009)
"""Radial chamfer over OD radius. 1.3 times r_s min (makers stay clear of the least) over the deep groove rows of the
boundary plan from 5 to 60 mm bore has its middle two thirds between 0.027 and 0.045."""

BLUR_PX = 0.7
"""Error of the far end from a blur that is not known, px."""


def to_full_diameter(
    seen: Ellipse, outward: int, band: Band | None, *, away: int, outer_radius_px: float
) -> tuple[Ellipse, float]:
    """Ellipse of the full diameter, and the relative standard uncertainty of its radius from the chamfer.

    Parameters
    ----------
    seen : the edge found
    outward : +1 if it is brighter outside that edge, -1 if darker
    band : the band of changing brightness around it
    away : +1 for the OD, -1 for the bore: where the chamfer falls off
    outer_radius_px : of the part's outer edge
    """
    width_px = RELATIVE_WIDTH.value * outer_radius_px
    if outward == away:
        move_px = (1 - OUTLINE.value) * width_px
        return scaled(seen, 1 + away * move_px / seen.a), OUTLINE.u * width_px / seen.a
    place = ABOVE_HORIZON
    far_px = min(band.far_px, 1.2 * width_px) if band is not None else 0.25 * width_px
    end_u_px = math.hypot(band.u_px, BLUR_PX) if band is not None else 0.3 * width_px
    move_px = far_px + (1 - place.value) * width_px
    u_px = math.hypot(place.u * width_px, end_u_px, (1 - place.value) * RELATIVE_WIDTH.u * outer_radius_px)
    return scaled(seen, 1 + away * move_px / seen.a), u_px / seen.a
