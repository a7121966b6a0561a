from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest

from screener.specs.clearances import clearance, clearance_rows

Rows = list[dict[str, str]]
GROUPS = ("C2", "CN", "C3", "C4", "C5")


@pytest.mark.parametrize(
    ("family", "bore_mm", "group", "min_um", "max_um"),
    [
        ("deep groove ball", 30, "C3", 13, 28),  # worked example 6206 C3: 30 is still in 24 to 30
        ("deep groove ball", 25, "CN", 5, 20),
        ("spherical roller", 90, "C3", 100, 135),  # published example 22218 C3
        ("deep groove ball", 8, "CN", 2, 13),
    ],
)
def test_published_values(family: str, bore_mm: float, group: str, min_um: float, max_um: float) -> None:
    row = clearance(family, bore_mm, group)
    assert row is not None
    assert (row.min_um, row.max_um) == (min_um, max_um)


def test_other_printed_lists_agree_to_180_mm(reference: Callable[[str], Rows]) -> None:
    wrong = []
    for outside in reference("iso5753_other_lists.csv"):
        row = clearance(outside["bearing"], float(outside["bore_up_to_mm"]), outside["group"])
        if row is None or (row.min_um, row.max_um) != (float(outside["min_um"]), float(outside["max_um"])):
            wrong.append((outside, row))
    assert not wrong


def test_groups_rise_and_adjoin() -> None:
    for bearing in {row.bearing for row in clearance_rows()}:
        for bore_mm in (11, 20, 27, 35, 60, 95, 130, 170, 190, 240, 300, 390, 450):
            rows = [clearance(bearing, bore_mm, group) for group in GROUPS]
            known = [row for row in rows if row is not None]
            assert len(known) in {0, 5}
            for tight, loose in pairwise(known):
                assert tight.min_um < loose.min_um, (tight, loose)
                assert tight.max_um < loose.max_um, (tight, loose)
                if loose.group != "C5":  # cylindrical roller C5 leaves a gap
                    assert loose.min_um <= tight.max_um, (tight, loose)


def test_ranges_adjoin_and_clearance_rises_with_the_bore() -> None:
    groups: dict[tuple[str, str], list] = {}
    for row in clearance_rows():
        groups.setdefault((row.bearing, row.group), []).append(row)
    for rows in groups.values():
        for small, large in pairwise(rows):
            assert small.bore_up_to_mm == large.bore_over_mm
            assert small.max_um <= large.max_um, (small, large)


def test_where_tables_differ_the_row_says_so() -> None:
    row = clearance("deep groove ball", 240, "C3")
    assert row is not None
    assert row.note is not None
    assert "other tables" in row.note


def test_unknown_asks_give_none() -> None:
    assert clearance("tapered roller", 30, "CN") is None
    assert clearance("deep groove ball", 30, "C9") is None
    assert clearance("deep groove ball", 3000, "CN") is None
