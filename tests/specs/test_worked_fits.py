"""Worked fits of bearings on shafts and in housings: tolerance table and ISO 286 together."""

from __future__ import annotations

import pytest

from screener.specs.iso286 import limit_deviations
from screener.specs.iso492 import tolerance


def shaft_fit(bore_mm: float, zone: str) -> tuple[float, float]:
    """Least and greatest interference of a Normal class bearing on a shaft, in micrometres."""
    ring = tolerance("radial", "inner", "Normal", bore_mm)
    assert ring is not None
    shaft = limit_deviations(bore_mm, zone)
    return shaft.lower_um - ring.diameter_upper_um, shaft.upper_um - ring.diameter_lower_um


def housing_fit(od_mm: float, zone: str) -> tuple[float, float]:
    """Least and greatest interference of a Normal class bearing in a housing, in micrometres."""
    ring = tolerance("radial", "outer", "Normal", od_mm)
    assert ring is not None
    housing = limit_deviations(od_mm, zone)
    return ring.diameter_lower_um - housing.upper_um, ring.diameter_upper_um - housing.lower_um


@pytest.mark.parametrize(
    ("bore_mm", "zone", "least_um", "most_um"),
    [
        (30, "k5", 2, 21),  # computed; the trap: 30 belongs to 18 to 30, the row 30 to 50 would give 2 to 25
        (35, "k5", 2, 25),  # computed
        (25, "k6", 2, 25),  # computed
        (40, "m6", 9, 37),  # computed
        # A public page with the national fit table, clearance as negative interference:
        (25, "g6", -20, 3),
        (25, "h6", -13, 10),
        (25, "j6", -4, 19),
        (25, "js6", -6.5, 16.5),
        (40, "g6", -25, 3),
        (40, "j6", -5, 23),
        (70, "g6", -29, 5),
        (70, "js6", -9.5, 24.5),
    ],
)
def test_bearings_on_shafts(bore_mm: float, zone: str, least_um: float, most_um: float) -> None:
    assert shaft_fit(bore_mm, zone) == (least_um, most_um)


@pytest.mark.parametrize(
    ("od_mm", "zone", "least_um", "most_um"),
    [  # a public page "Housing tolerances and resultant fits"
        (47, "K7", -18, 18),
        (62, "M7", -13, 30),
        (62, "K7", -22, 21),
    ],
)
def test_bearings_in_housings(od_mm: float, zone: str, least_um: float, most_um: float) -> None:
    assert housing_fit(od_mm, zone) == (least_um, most_um)
