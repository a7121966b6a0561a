"""Rings beside a bearing, and marks under what was not understood."""

from __future__ import annotations

from screener.parts import companions, explain, point_at


def test_rings_of_a_6205() -> None:
    """6205 is 25 x 52 x 15: DIN 471 ring 25 x 1.2 and DIN 472 ring 52 x 2 (two open typings of the tables agree)."""
    found = companions(explain("6205-2RS"))
    assert found.shaft_ring is not None
    assert found.bore_ring is not None
    assert (found.shaft_ring.nominal_mm, found.shaft_ring.thickness_mm) == (25, 1.2)
    assert (found.bore_ring.nominal_mm, found.bore_ring.thickness_mm) == (52, 2)


def test_nothing_known_nothing_named() -> None:
    assert companions(explain("blah")).shaft_ring is None


def test_marker_stands_under_the_fault() -> None:
    assert point_at(explain("6202-2RS1 C8")) == "6202-2RS1 C8\n          ~~"
    assert point_at(explain("OLMIRA 6202 C8")) == "OLMIRA 6202 C8\n            ~~"
    assert point_at(explain("6205")) is None


def test_marker_under_a_swapped_size() -> None:
    assert point_at(explain("TC 52x35x7")) == "TC 52x35x7\n   ~~~~~~~"
