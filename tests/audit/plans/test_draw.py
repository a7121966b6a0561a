from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from screener.audit.plans.draw import box_sizes, draw_units
from screener.errors import WrongUsage


@given(st.lists(st.integers(1, 60), min_size=1, max_size=15), st.integers(1, 200), st.integers(0, 10**6))
def test_every_box_gives_its_share(sizes, wanted, seed) -> None:
    # ISO 2859-1, clause 8: where a lot has parts, the sample is in proportion to them.
    draw = draw_units(sizes, wanted, seed)
    wanted = min(wanted, sum(sizes))
    assert draw.unit_count == wanted
    counts = {each.box: len(each.units) for each in draw.boxes}
    for box, size in enumerate(sizes, 1):
        share = wanted * size / sum(sizes)
        assert share - 1 < counts.get(box, 0) < share + 1
    for each in draw.boxes:
        assert len(set(each.units)) == len(each.units)
        assert set(each.units) <= set(range(1, each.units_in_box + 1))
    assert draw == draw_units(sizes, wanted, seed)


def test_every_unit_has_the_same_chance() -> None:
    sizes, wanted, times = (10, 10, 5), 6, 6000
    drawn = [box for seed in range(times) for box in draw_units(sizes, wanted, seed).boxes]
    seen = Counter((box.box, unit) for box in drawn for unit in box.units)
    assert len(seen) == 25
    # Chi-square with the draws of one sample not independent: on the safe side, the statistic is smaller than told.
    assert stats.chisquare(list(seen.values())).pvalue > 0.001


def test_the_same_seed_gives_the_same_units_everywhere() -> None:
    # Python promises random() for a seed (library documentation, "Notes on Reproducibility"); written down once.
    assert draw_units((100,) * 3, 5, 7).says == ("box 1: unit 54", "box 2: units 7, 37", "box 3: units 5, 51")


def test_a_seed_of_its_own_draws_others() -> None:
    assert draw_units((1000,), 20, 1) != draw_units((1000,), 20, 2)


def test_a_whole_box_is_said_in_a_word() -> None:
    draw = draw_units((3, 3), 6, 1)
    assert draw.says == ("box 1: all 3 units", "box 2: all 3 units")
    assert draw_units((9,), 1, 1).says[0].startswith("unit ")


@pytest.mark.parametrize(
    ("lot", "boxes", "per_box", "sizes"),
    [
        (1200, 12, 100, (100,) * 12),
        (1150, 12, 100, (*([100] * 11), 50)),
        (1150, None, 100, (*([100] * 11), 50)),
        (10, 3, None, (4, 3, 3)),
        (7, None, None, (7,)),
    ],
)
def test_boxes(lot, boxes, per_box, sizes) -> None:
    assert box_sizes(lot, boxes, per_box) == sizes


@pytest.mark.parametrize(("boxes", "per_box"), [(11, 100), (14, 100), (0, 5), (5, 0), (2000, None), (-1, None)])
def test_boxes_that_cannot_be(boxes, per_box) -> None:
    with pytest.raises(WrongUsage, match="boxes"):
        box_sizes(1200, boxes, per_box)
