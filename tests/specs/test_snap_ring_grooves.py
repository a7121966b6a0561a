"""Snap-ring grooves (ISO 464)."""

from __future__ import annotations

from itertools import pairwise

import pytest

from screener.specs.snap_ring_grooves import snap_ring_grooves, widest_snap_ring_mm

SERIES = ("18", "19", "0", "2 3 4")


def test_known_grooves() -> None:
    """6204 N (47 mm) and 61904 N (37 mm) as a catalogue prints them (from memory): a 2.46, b 1.35, D1 44.6, D2 52.7;
    a 1.7, b 0.95, D1 35.7, D2 39.8."""
    table = {(row.series, row.od_mm): row for row in snap_ring_grooves()}
    for key, want in {("2 3 4", 47.0): (2.46, 1.35, 44.6, 52.7), ("19", 37.0): (1.7, 0.95, 35.7, 39.8)}.items():
        row = table[key]
        assert (row.land_max_mm, row.width_min_mm, row.groove_diameter_mm, row.snap_ring_diameter_mm) == want


def test_the_widest_ring_of_a_diameter() -> None:
    """42 mm: 44.8 in series 18 and 19, 46.3 in diameter series 0, 2, 3 (two printed tables)."""
    assert widest_snap_ring_mm(42.0) == 46.3
    assert widest_snap_ring_mm(43.0) is None


@pytest.mark.parametrize("series", SERIES)
def test_grooves_grow_with_the_size(series: str) -> None:
    rows = [row for row in snap_ring_grooves() if row.series == series]
    for small, large in pairwise(rows):
        assert small.od_mm < large.od_mm
        assert small.groove_diameter_mm < large.groove_diameter_mm
        assert small.land_max_mm <= large.land_max_mm
        assert small.width_min_mm <= large.width_min_mm
        assert small.snap_ring_diameter_mm < large.snap_ring_diameter_mm


def test_a_ring_stands_out_of_its_groove() -> None:
    for row in snap_ring_grooves():
        assert row.groove_diameter_mm < row.od_mm < row.snap_ring_diameter_mm
        # A groove leaves most of the ring's section: ISO 464 cuts 2.5 to 6 % of the diameter.
        assert 0.02 < 1 - row.groove_diameter_mm / row.od_mm < 0.075
