from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import InputUnreadable, ScreenerError, WrongUsage
from screener.metrology.fits.example_card import EXAMPLE
from screener.metrology.fits.job import job_as_json, walk
from screener.metrology.fits.job_card import (
    JobCard,
    find_part,
    missing_readings,
    read_card,
    with_reading,
)
from screener.metrology.fits.stack import stack_of


def card(text: str = EXAMPLE) -> JobCard:
    return read_card(tomllib.loads(text), "card.toml")


def test_the_example_card_works() -> None:
    job = walk(card())
    assert job.outcome == "fits"
    assert [each.card.kind for each in job.parts] == [
        "shaft_seal",
        "retaining_ring",
        "bearing",
        "spacer",
        "retaining_ring",
    ]
    document = job_as_json(job)
    json.dumps(document, allow_nan=False)
    assert document["schema"] == "screener.job_result/1"
    assert [each["fit"]["schema"] if each["fit"] else None for each in document["parts"]] == [
        "screener.fit/1",
        None,
        "screener.fit/1",
        None,
        None,
    ]


def test_the_stack_is_laid_end_to_end() -> None:
    """Widths: seal 7, DIN 472 52 is 2 thick, 6205 is 15 (ISO 15), DIN 471 25 is 1.2 thick; 1 mm gap before the ring."""
    pieces = stack_of(card())
    assert [(each.left_mm, each.right_mm) for each in pieces] == [
        (0.0, 7.0),
        (8.0, 10.0),
        (10.0, 25.0),
        (25.0, 31.0),
        (31.0, pytest.approx(32.2)),
    ]
    bearing = pieces[2]
    assert (bearing.inner_mm, bearing.outer_mm, bearing.closed, bearing.balls) == (25, 52, True, True)
    bore_ring, shaft_ring = pieces[1], pieces[4]
    assert bore_ring.outer_mm == 55  # groove of DIN 472 52
    assert shaft_ring.inner_mm == 23.9  # groove of DIN 471 25


def test_missing_readings_are_asked_for_and_added() -> None:
    bare = replace(card(), part=tuple(replace(p, shaft=replace(p.shaft, readings_mm=())) for p in card().part))
    asks = missing_readings(bare)
    assert [(each.part, each.seat) for each in asks] == [("shaft seal", "shaft"), ("bearing", "shaft")]
    told = with_reading(bare, "Bearing", "shaft", (25.006, 25.007))
    assert find_part(told, "bearing").shaft.readings_mm == ((25.006, 25.007),)
    assert [(each.part, each.seat) for each in missing_readings(told)] == [("shaft seal", "shaft")]
    with pytest.raises(WrongUsage, match="no part"):
        with_reading(bare, "gear", "shaft", (25.0,))


def test_ticks_are_kept() -> None:
    text = EXAMPLE.replace("photos = []", 'photos = []\ndone = ["spacer"]')
    ticks = {(tick.part, tick.id): tick for tick in walk(card(text)).ticks}
    assert ticks["bearing", "spacer"].done
    assert ticks["bearing", "spacer"].forgotten
    assert not ticks["bearing", "seal-first"].done
    assert ticks["", "card-1"].says == "Grease for the seal lip"


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ('title = "Output shaft"', "", "title"),
        ('kind = "spacer"', 'kind = "sleeve"', "part.4.kind"),
        ('load = "normal"', 'load = "middling"', "part.3.load"),
        ("rpm = 1450", 'rpm = "fast"', "part.1.rpm"),
        ("room_c = 20", "room_c = 20\ncolour = 3", "colour"),
        ('name = "spacer"', 'name = "bearing"', "name of its own"),
        ('schema = "screener.job/1"', 'schema = "screener.job/9"', "schema"),
    ],
)
def test_mistakes_in_a_card_name_their_place(old: str, new: str, word: str) -> None:
    assert old in EXAMPLE
    with pytest.raises(InputUnreadable, match=r"card\.toml") as caught:
        card(EXAMPLE.replace(old, new, 1))
    assert word in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ('"6205-2RS C3"', '"hello"', "part “bearing”"),
        ('"DIN 471 25x1.2"', '"DIN 471 26.3"', "part “shaft ring”"),
        ("[25.008, 25.009]", "[250.0]", "part “bearing”, shaft"),
        ("outer_mm = 32", "outer_mm = 20", "part “spacer”"),
        ("outer_mm = 32\n", "", "part “spacer”"),
        ("gap_before_mm = 1", "gap_before_mm = -1", "gap"),
        ("gap_before_mm = 1", "gap_before_mm = nan", "gap"),
        ("wall_mm = 70", "wall_mm = 40", "inside each other"),
        ('material = "aluminium"', 'material = "cheese"', "part “bearing”, housing"),
    ],
)
def test_mistakes_in_a_part_name_the_part(old: str, new: str, word: str) -> None:
    assert old in EXAMPLE
    with pytest.raises(WrongUsage) as caught:
        walk(card(EXAMPLE.replace(old, new, 1)))
    assert word in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "outcome", "says"),
    [
        # DIN 471/472 rings carry the shaft or bore they are made for as their nominal size.
        ("DIN 472 52x2", "DIN 472 62x2", "do_not", "belongs to a bore of 62 mm, the seats beside it have 52 mm"),
        ("DIN 471 25x1.2", "DIN 471 30x1.5", "do_not", "belongs to a shaft of 30 mm, the seats beside it have 25 mm"),
        ("inner_mm = 25\nouter_mm = 32", "inner_mm = 22\nouter_mm = 32", "do_not", "does not go over a shaft of 25 mm"),
        # common practice: a spacer on the shaft lies against the inner ring only.
        ("outer_mm = 32", "outer_mm = 50", "do_not", "reaches the outer ring of bearing"),
    ],
)
def test_parts_that_do_not_belong_together_are_named(old: str, new: str, outcome: str, says: str) -> None:
    assert EXAMPLE.count(old) == 1
    job = walk(card(EXAMPLE.replace(old, new)))
    assert job.outcome == outcome
    assert says in job.says
    assert says in job_as_json(job)["clashes"][0]["says"]
    assert walk(card()).clashes == ()
    stepped = new.replace("inner_mm", "on_step = true\ninner_mm") if "inner_mm" in new else f'{new}"\non_step = true #'
    if "outer ring" not in says:
        assert walk(card(EXAMPLE.replace(old, stepped))).outcome == "fits"


def test_a_job_is_as_bad_as_its_worst_part() -> None:
    job = walk(card(EXAMPLE.replace("[[25.009, 25.011], [25.008, 25.009]]", "[[24.95]]")))
    assert job.outcome == "do_not"
    # k5 of 25 mm begins at 25.002 (ISO 286-2), and 24.95 is 52 µm less, give or take the micrometer's 7 µm.
    assert job.says == "Do not press as it is: bearing (shaft 45 to 59 µm below k5)."


values: Any = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-10, 1000), st.floats(), st.text(max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=8,
)
PART_FIELDS = [
    "name", "kind", "designation", "gap_before_mm", "inner_mm", "outer_mm", "width_mm", "turning", "load", "load_share",
    "radial_load_n", "rpm", "inner_c", "outer_c", "shaft_c", "housing_c", "hardness_hrc", "ra_um", "shaft", "housing",
    "bore_readings_mm", "od_readings_mm", "photos", "done", "friction",
]  # fmt: skip


@given(st.integers(0, 4), st.sampled_from(PART_FIELDS), values)
def test_no_card_brings_anything_but_an_error_in_words(at: int, name: str, value: object) -> None:
    document = tomllib.loads(EXAMPLE)
    document["part"][at][name] = value
    try:
        job = walk(read_card(document, "card.toml"))
    except ScreenerError:
        return
    json.dumps(job_as_json(job), allow_nan=False)
