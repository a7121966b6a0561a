from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

import pytest

from screener.reports.plot_svg import (
    DASHES,
    Axis,
    Curve,
    Dot,
    DotRow,
    Interval,
    Mark,
    Words,
    dot_plot,
    interval_plot,
    line_plot,
    ticks,
)

SVG = "{http://www.w3.org/2000/svg}"
WORDS = Words("Chance <accepted> & more", "It falls.")
PERCENT = Axis("bad, %", 0.0, 10.0)


def _tree(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own output


def _polylines(svg: str) -> list[list[tuple[float, float]]]:
    lines = _tree(svg).iter(f"{SVG}polyline")
    return [[(float(x), float(y)) for x, y in (p.split(",") for p in each.get("points", "").split())] for each in lines]


def test_a_screen_reader_is_told_title_and_description() -> None:
    # SVG 2, 5.8 (title and desc) and WAI-ARIA 1.2 (img needs a name): the ids must be those of the elements.
    root = _tree(line_plot(WORDS, PERCENT, Axis("accepted, %", 0, 100), [Curve("a", [(0, 100), (10, 0)])]))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == title.get("id")
    assert root.get("aria-describedby") == desc.get("id")
    assert title.text == WORDS.title


def test_curves_differ_without_colour() -> None:
    curves = [Curve(name, [(0, 0), (10, 100)]) for name in "abcdef"]
    svg = line_plot(WORDS, PERCENT, Axis("y", 0, 100), curves)
    dashes = {each.get("stroke-dasharray", "") for each in _tree(svg).iter(f"{SVG}polyline")}
    assert dashes == set(DASHES)
    assert len(set(DASHES)) == 6
    assert not re.search(r"#[0-9a-f]{3,6}\b|rgb\(", svg)
    for name in "abcdef":
        assert f">{name}</text>" in svg


def test_points_lie_where_the_axes_say() -> None:
    (points,) = _polylines(line_plot(WORDS, PERCENT, Axis("y", 0, 100), [Curve("a", [(0, 0), (5, 50), (10, 100)])]))
    (x0, y0), (x1, y1), (x2, y2) = points
    assert x1 == pytest.approx((x0 + x2) / 2, abs=0.01)
    assert y1 == pytest.approx((y0 + y2) / 2, abs=0.01)
    assert x2 > x0
    assert y2 < y0, "up is smaller y"


def test_a_step_holds_its_value_until_the_next_point() -> None:
    (points,) = _polylines(line_plot(WORDS, PERCENT, Axis("y", 0, 2), [Curve("a", [(0, 2), (4, 1), (8, 0)], True)]))
    assert len(points) == 5
    assert points[1] == (points[2][0], points[0][1])
    assert points[3] == (points[4][0], points[2][1])


def test_what_is_no_number_is_left_out() -> None:
    curve = Curve("a", [(0, 1), (1, math.nan), (2, math.inf), (3, 2)])
    svg = line_plot(WORDS, PERCENT, Axis("y", 0, 2), [curve], [Mark("nowhere", math.nan), Mark("far", 99.0)])
    assert "nan" not in svg
    assert "inf" not in svg
    assert "nowhere" not in svg
    assert "far" not in svg
    assert len(_polylines(svg)[0]) == 2


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(0, 10, (0, 2, 4, 6, 8, 10)), (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1.0)), (-3, 3, (-3, -2, -1, 0, 1, 2, 3))],
)
def test_ticks_are_round_and_inside(low: float, high: float, expected: tuple[float, ...]) -> None:
    # Common practice: steps of 1, 2 or 5 times a power of ten.
    assert ticks(low, high) == pytest.approx(expected)


def test_intervals_show_range_point_and_note() -> None:
    rows = [Interval("house <A>", 0.0, 5.0, 1.0, "0 of 3"), Interval("house B", 2.0, 99.0)]
    svg = interval_plot(WORDS, PERCENT, rows, [Mark("2 %", 2.0)])
    root = _tree(svg)
    assert len(list(root.iter(f"{SVG}circle"))) == 1, "no point where no middle is given"
    texts = [each.text for each in root.iter(f"{SVG}text")]
    assert "house <A>" in texts
    assert "0 of 3" in texts
    assert "2 %" in texts
    thick = [each for each in root.iter(f"{SVG}line") if each.get("stroke-width") == "2.5"]
    assert len(thick) == 2
    first = float(thick[0].get("x2", 0)) - float(thick[0].get("x1", 0))
    second = float(thick[1].get("x2", 0)) - float(thick[1].get("x1", 0))
    assert second == pytest.approx(first * 8 / 5, rel=0.02), "what runs out of the axis ends at its edge"


def test_dots_on_one_value_do_not_hide_each_other() -> None:
    row = DotRow("mass, g", [Dot(5.0, says="box 1"), Dot(5.0), Dot(5.0, "ring"), Dot(5.0, "cross")], band=(4.0, 6.0))
    root = _tree(dot_plot(WORDS, PERCENT, [row]))
    centres = {(each.get("cx"), each.get("cy")) for each in root.iter(f"{SVG}circle")}
    assert len(centres) == 3
    assert len(list(root.iter(f"{SVG}path"))) == 1
    assert len(list(root.iter(f"{SVG}rect"))) == 1


def test_a_label_too_long_is_cut_and_told_whole() -> None:
    name = "A very long name of a row that nobody can read in one glance at all"
    svg = interval_plot(WORDS, PERCENT, [Interval(name, 1.0, 2.0)])
    assert f"<title>{name}</title>" in svg
    assert "…</text>" in svg


def test_nothing_to_show_is_still_a_plot() -> None:
    for svg in (line_plot(WORDS, Axis("x", 1, 1), Axis("y", 0, 0), []), interval_plot(WORDS, PERCENT, [])):
        assert _tree(svg).get("role") == "img"
