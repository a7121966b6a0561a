"""Why a caliper reads small bores short: its inside jaws have flats and touch the bore on a chord."""

from __future__ import annotations

import math


def flat_jaw_error_mm(diameter_mm: float, flat_mm: float) -> float:
    """Return by how much a bore reads short, in mm (never negative).

    Parameters
    ----------
    diameter_mm
        True diameter of the bore.
    flat_mm
        Total width of flat plus offset of the two jaws; 0.3 to 1.0 on usual calipers.

    Notes
    -----
    Geometry: two parallel flats of width w touch a circle of diameter D on a chord, which reads sqrt(D² - w²).
    """
    if flat_mm >= diameter_mm:
        return diameter_mm
    return diameter_mm - math.sqrt(diameter_mm**2 - flat_mm**2)


def flat_from_known_bore_mm(diameter_mm: float, read_mm: float) -> float:
    """Return the flat width that explains a reading on a bore of known diameter (a ring gauge, a new bearing).

    A reading at or above the diameter gives 0.
    """
    return math.sqrt(max(0.0, diameter_mm**2 - read_mm**2))
