"""What would have been seen had it been there: nothing speaks by its absence that no check could have raised."""

from __future__ import annotations

import pytest
from screening.items import GOOD_6205, TODAY, barcode, item, label, mark, need, reading

from screener.screening.screen import screen
from screener.screening.strength import seen_by_tool

PART = need("6205-2RS C3", duty=["dry"])
MARKED = mark("6205-2RS/C3")
MEASURED = (
    reading("bore_mm", 25.0),
    reading("od_mm", 51.99),
    reading("width_mm", 14.96),
    reading("mass_g", 130, "scale"),
)


def screened(*observations):
    return screen(item(PART, *observations), TODAY)


def signs(*observations):
    return {w.indicator for w in screened(*observations).suspicion.indicators}


def looked_for(*observations):
    return set(screened(*observations).suspicion.looked_for)


def test_the_tool_looks_for_nothing_that_it_cannot_find():
    everything = (
        *GOOD_6205,
        *MEASURED,
        *(label(name, value) for name, value in (("maker", "BRENVOK"), ("date", "2025-11"), ("batch", "L2511A"))),
        *(label(name, value) for name, value in (("serial", "7A12345"), ("country", "PT"))),
        *(barcode(name, value) for name, value in (("designation", "6205-2RS C3"), ("gtin", "09521101530010"))),
        mark("BRENVOK", attribute="maker"),
        mark("L2511A", attribute="batch"),
    )
    found = looked_for(*everything)
    assert {"PK1", "LB2", "LB3", "LB4", "LB8", "SN1", "SN2", "SN5", "MK2", "MK7", "GM1", "GM2", "GM3"} <= found
    assert found <= seen_by_tool()


def test_a_maker_not_known_here_cannot_be_seen_to_be_misspelt():
    assert "PK1" in looked_for(label("maker", "BRENVOK"))
    assert not {"PK1", "MK2", "MK7"} & looked_for(label("maker", "HARROWGATE"), mark("HARROWGATE", attribute="maker"))


def test_a_mass_without_a_listed_one_says_nothing_by_its_absence():
    seal = need("25x47x7")
    weighed = screen(item(seal, reading("mass_g", 12, "scale"), reading("width_mm", 7.0)), TODAY)
    assert not {"GM1", "GM2", "GM3"} & set(weighed.suspicion.looked_for)


def test_a_ring_marked_with_a_size_that_it_does_not_have():
    # ISO 15: 6205 is 25 x 52 x 15; 47 is the outside of a 6204.
    wrong = (reading("bore_mm", 20.0), reading("od_mm", 47.0), reading("width_mm", 14.0))
    assert "GM1" in signs(MARKED, *wrong)
    # Judgement: without the ring's own word, or with an honest one, a swap is likelier: the order decides alone.
    assert signs(label("designation", "6205-2RS C3"), *wrong) == set()
    assert signs(label("designation", "6205-2RS C3"), mark("6204-2RS/C3"), *wrong) == set()


@pytest.mark.parametrize(("width_mm", "sign"), [(14.96, set()), (14.86, set()), (14.81, {"GM2"}), (14.6, {"GM1"})])
def test_a_width_outside_its_tolerance(width_mm, sign):
    # ISO 492, Normal class, bore over 18 to 30 mm: width 0/-120 um; the caliper's U of 0.04 mm leaves 14.86 undecided.
    assert signs(MARKED, reading("width_mm", width_mm)) == sign


def test_right_sizes_show_none_and_speak_by_it():
    assert signs(MARKED, *MEASURED) == set()
    assert {"GM1", "GM2", "GM3"} <= looked_for(MARKED, *MEASURED)
    assert looked_for(MARKED, reading("width_mm", 14.96)) & {"GM1", "GM2", "GM3"} == {"GM2"}
