"""Where on the chamfer an edge was seen, and what that leaves open.

Between the flat face (position 0) and the cylinder (position 1) lies the chamfer, about 3.5 % of the OD radius wide and
up to a tenth of the bore radius. Which of its edges shows depends on the light:

- where the part ends against something brighter outside it (or, in the bore, inside it), the edge seen is the outline
  itself: position 1;
- where bright steel turns dark, a rounded chamfer is seen to turn from mirroring what is above to mirroring the bench.
  Looking down, that is where it leans by 45 degrees: position sin 45 = 0.71. A flat bevel has its edges at 0 and 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from screener.vision.model import Measured

OUTLINE = Measured(0.97, 0.08)
HORIZON = Measured(0.71, 0.17)
BLENDED = Measured(0.6, 0.22)
"""One edge only, from a picture too coarse to part two edges that are a chamfer's width from each other."""

RELATIVE_WIDTH = Measured(0.036, 0.009)
"""Radial chamfer over OD radius. 1.3 times r_s min (makers stay clear of the least) over the deep groove rows of the
boundary plan from 5 to 60 mm bore has its middle two thirds between 0.027 and 0.045."""

COARSE_PX = 3.0
"""Two edges nearer than this melt into one at the working sharpness of a phone photo."""


@dataclass(frozen=True, slots=True)
class EdgePlace:
    """Which edge of the chamfer a ring is: 0 at the face, 1 at the full diameter."""

    position: Measured


def outer_place(outward: int, radius_px: float) -> Measured:
    """Place of the outer edge on its chamfer, from its polarity and size in the photo.

    Parameters
    ----------
    outward : +1 if it is brighter outside the edge, -1 if darker
    radius_px : of the edge, in the photo's pixels
    """
    if outward > 0:
        return OUTLINE
    return BLENDED if RELATIVE_WIDTH.value * radius_px < COARSE_PX else HORIZON


def bore_place(outward: int, radius_px: float, outer_radius_px: float) -> Measured:
    """Place of the bore edge on its chamfer."""
    if outward < 0 and radius_px > 0:
        return OUTLINE
    return BLENDED if RELATIVE_WIDTH.value * outer_radius_px < COARSE_PX else HORIZON
