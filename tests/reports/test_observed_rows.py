"""One row a fact, with every witness; numbers that lead from a finding and a photo to it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reports.making import observation, screened

from screener.reports.observed_rows import numbers_say, observed_rows
from screener.screening.model import Observation, ScreenedItem, Source


def seen(*observations: Observation, findings: tuple[str, ...] = ()) -> ScreenedItem:
    made = screened()
    finding = replace(made.findings[0], observations=findings)
    return replace(made, item=replace(made.item, observations=observations), findings=(finding,))


def test_sources_that_say_the_same_share_a_row_and_a_number() -> None:
    label = observation("o2", source=Source("label", "box.jpg"))
    facts = observed_rows(seen(observation("o1"), label, observation("o3", "6205-2Z")))
    assert [(row.number, row.value, len(row.by)) for row in facts.rows] == [(1, "6205-2RS", 2), (2, "6205-2Z", 1)]
    assert facts.numbers == {"o1": 1, "o2": 1, "o3": 2}


def test_the_two_faces_of_a_part_are_two_facts() -> None:
    first, second = (observation(f"o{face}", "shield", attribute="closure", face=face) for face in ("first", "second"))
    assert len(observed_rows(seen(first, second)).rows) == 2


def test_plain_text_is_listed_but_not_numbered_unless_a_finding_points_at_it() -> None:
    text = observation("o1", "Handle with care", attribute="text")
    assert observed_rows(seen(text)).also_read == ("Handle with care",)
    assert observed_rows(seen(text)).numbers == {}
    pointed_at = observed_rows(seen(text, findings=("o1",)))
    assert pointed_at.numbers == {"o1": 1}
    assert pointed_at.also_read == ()


@pytest.mark.parametrize(
    ("numbers", "says"),
    [([3, 1, 2, 5], "1–3, 5"), ([1, 2], "1, 2"), ([4], "4"), ([], ""), ([7, 7, 8, 9, 11], "7–9, 11")],
)
def test_numbers_are_said_short(numbers: list[int], says: str) -> None:
    assert numbers_say(numbers) == says


@given(st.lists(st.integers(1, 60)))
def test_short_numbers_name_the_same_numbers(numbers: list[int]) -> None:
    named: set[int] = set()
    for run in filter(None, numbers_say(numbers).split(", ")):
        first, _, last = run.partition("–")
        named.update(range(int(first), int(last or first) + 1))
    assert named == set(numbers)
