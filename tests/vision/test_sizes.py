"""Ranking standard sizes. Sizes: ISO 15 boundary dimensions (608 is 8 x 22 x 7, 6202 is 15 x 35 x 11)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.vision.measure import Measures
from screener.vision.model import Measured
from screener.vision.sizes import height_solved, rank_sizes, seen_od_mm, standard_sizes


def _with_od(ratio: float, od_mm: float, u_rel: float = 0.003) -> Measures:
    flat = tuple((z, od_mm) for z in (0.0, 60.0))
    return Measures(Measured(ratio, 0.006), None, None, flat, u_rel)


@pytest.mark.parametrize(("name", "bore", "od"), [("608", 8, 22), ("6202", 15, 35), ("6304", 20, 52), ("6903", 17, 30)])
def test_od_and_ratio_name_the_size(name: str, bore: float, od: float) -> None:
    best = rank_sizes(_with_od(bore / od, od))[0]
    assert (best.bore_mm, best.od_mm) == (bore, od)
    assert name[:3] in best.name


def test_ratio_alone_is_honest() -> None:
    """6202 (15/35) and 6001 (12/28) have the very same d/D of 3/7: neither may be near certain without a scale."""
    ranked = rank_sizes(Measures(Measured(3 / 7, 0.004), None, None))
    found = {c.name: c.p for c in ranked}
    assert {"6202", "6001"} <= set(found)
    assert max(found.values()) < 0.5


@given(st.floats(0.25, 0.85), st.floats(8, 120), st.floats(0.001, 0.02))
def test_probabilities_are_probabilities(ratio: float, od_mm: float, u_rel: float) -> None:
    ranked = rank_sizes(_with_od(ratio, od_mm, u_rel))
    assert all(0 < c.p <= 1 for c in ranked)
    assert sum(c.p for c in ranked) <= 1 + 1e-9
    assert [c.p for c in ranked] == sorted((c.p for c in ranked), reverse=True)


def test_a_shape_in_no_table_is_not_forced_into_one() -> None:
    """A ring of 100 mm with a 10 mm hole is no bearing of the table."""
    assert sum(c.p for c in rank_sizes(_with_od(0.1, 100.0))) < 0.05


def test_same_diameters_differ_by_width_only() -> None:
    """62202 is a 6202 of 14 mm width (ISO 15, width series 2): the picture cannot tell, the commoner comes first."""
    ranked = [c for c in rank_sizes(_with_od(15 / 35, 35.0)) if (c.bore_mm, c.od_mm) == (15.0, 35.0)]
    assert [c.name for c in ranked][:2] == ["6202", "62202"]
    assert ranked[1].p > 0.01


def test_seals_are_sought_among_seals() -> None:
    """DIN 3760 lists 35 x 52 x 7; the free OD is 0.1 to 0.35 mm over the housing (press-fit allowance)."""
    best = rank_sizes(_with_od(0.66, 52.2), kind="shaft_seal")[0]
    assert (best.bore_mm, best.od_mm) == (35.0, 52.0)
    assert best.name.startswith("35x52x")


def test_each_size_is_listed_once() -> None:
    sizes = [(s.bore_mm, s.od_mm, s.width_mm) for s in standard_sizes()]
    assert len(sizes) == len(set(sizes))


def _from_too_far(size_od_mm: float, ratio: float, error: float, per_mm: float) -> Measures:
    """A part whose OD is seen off by an error, with edges known to 0.3 % and so much left open per mm of height."""
    flat = tuple((z, size_od_mm * (1 + error)) for z in (0.0, 60.0))
    return Measures(Measured(ratio, 0.004), None, None, flat, 0.003, per_mm)


def test_an_open_focal_length_is_solved_with_the_size() -> None:
    """6205 (25 x 52 x 15) seen 2 % too small from straight above.

    Pinhole: at 300 mm, 15 mm of height are 5 % of the size; a focal length open by 35 % (24 to 52 mm equivalent) leaves
    about 1.7 % of it, 0.12 % per mm. What the edges alone say would be 3 joint uncertainties off.
    """
    known = height_solved(_from_too_far(52.0, 25 / 52, -0.02, 0.0), "bearing").od_mm
    opened = height_solved(_from_too_far(52.0, 25 / 52, -0.02, 0.0012), "bearing").od_mm
    assert known is not None
    assert opened is not None
    assert known.value == pytest.approx(52.0 * 0.98, rel=0.002)  # nothing to be solved: it stays as seen
    assert opened.value == pytest.approx(52.0, rel=0.005)
    assert abs(opened.value - 52.0) < 2 * opened.u
    assert rank_sizes(_from_too_far(52.0, 25 / 52, -0.02, 0.0012))[0].name == "6205"


def test_a_size_in_no_table_is_not_moved_onto_one() -> None:
    """A disc of 100 mm with a 10 mm hole is no bearing: an open focal length widens its OD and moves it nowhere."""
    solved = height_solved(_from_too_far(100.0, 0.1, 0.0, 0.001), "bearing").od_mm
    assert solved is not None
    assert solved.value == pytest.approx(100.0, rel=0.002)
    assert solved.u > 0.01 * 100.0


def test_a_seal_is_named_by_its_housing() -> None:
    """Makers of seals: below 80 mm the case stands 0.1 to 0.35 mm over its housing (seal_press_fit.csv)."""
    solved = height_solved(_with_od(0.66, 52.22, 0.001), "shaft_seal").od_mm
    assert solved is not None
    assert abs(solved.value - 52.0) < 0.1
    assert seen_od_mm(solved.value, "shaft_seal") == pytest.approx(52.22, abs=0.01)


def test_bore_follows_od_and_ratio() -> None:
    solved = height_solved(_with_od(0.5, 40.0), "bearing")
    assert solved.bore_mm is not None
    assert solved.bore_mm.value == pytest.approx(20.0, rel=1e-6)
    assert solved.bore_mm.u > 0
