"""From noisy readings to standing designations."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.parts import explain, rank_readings
from screener.parts.look_alikes import _general, bare, distance
from screener.specs.boundary import boundary_rows


@pytest.mark.parametrize(
    ("read", "meant"),
    [
        ("G2O5-2RS", "6205-2RS"),
        ("35X52X7", "35x52x7"),
        ("35S2X7", "35x52x7"),
        ("3552 7", "35x52x7"),
        ("TC35X52X7N8R", "TC 35x52x7 NBR"),
        ("6202/C3", "6202/C3"),
        ("608 2RS C3", "608 2RS C3"),
        ("60042RS", "6004-2RS"),
        ("62O3ZZ", "6203 ZZ"),
        ("69O3-2Z C3", "6903-2Z C3"),
        ("6OO3-2R5R", "6003-2RSR"),
        ("NU2O5ECP", "NU205 ECP"),
    ],
)
def test_best_reading(read: str, meant: str) -> None:
    assert rank_readings(read)[0].designation == meant


@pytest.mark.parametrize("text", ["HELLO", "OLMIRA", "", "--", "1", "GERMANY"])
def test_no_reading(text: str) -> None:
    assert rank_readings(text) == ()


_LOOK_ALIKE = {"0": "OD", "5": "S", "2": "Z", "8": "B", "1": "IL", "6": "G"}
_COMMON = [
    row.designation
    for row in boundary_rows()
    if row.designation[:2] in {"60", "62", "63"} and row.designation.isdigit()
]


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(_COMMON), st.sampled_from(["", "-2RS", " ZZ", "/C3", "-2RS1 C3"]), st.data())
def test_one_look_alike_in_the_number_is_undone(basic: str, tail: str, data: st.DataObject) -> None:
    places = [place for place, sign in enumerate(basic) if sign in _LOOK_ALIKE]
    place = data.draw(st.sampled_from(places))
    noisy = basic[:place] + data.draw(st.sampled_from(_LOOK_ALIKE[basic[place]])) + basic[place + 1 :] + tail
    best = rank_readings(noisy)
    assert best
    assert bare(basic + tail) in {bare(reading.designation) for reading in best}, "633D may also be a 633 with a D"


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet="0123456789OSZBILGRC-/ ", max_size=14))
def test_readings_are_understood_and_in_order(text: str) -> None:
    readings = rank_readings(text)
    assert [reading.cost for reading in readings] == sorted(reading.cost for reading in readings)
    assert all(reading.explained.understood and explain(reading.designation).understood for reading in readings)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="6205OSZ", min_size=1, max_size=7), st.text(alphabet="6205OSZ", min_size=1, max_size=7))
def test_fast_distance_equals_the_full_table(read: str, meant: str) -> None:
    """Oracle: the edit table without short cuts."""
    limit = 1.6
    fast, full = distance(read, meant, limit), _general(read, meant, limit + 1)
    if full <= limit - 0.001:
        assert fast == pytest.approx(full)
    else:
        assert fast > limit - 0.001
