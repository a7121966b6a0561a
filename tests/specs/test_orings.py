from __future__ import annotations

from itertools import pairwise

import pytest

from screener.specs.orings import oring, orings, orings_near

INCH = 25.4


@pytest.mark.parametrize(
    ("dash", "inner_in", "section_in"),
    [  # AS568, from memory
        ("006", 0.114, 0.070),
        ("010", 0.239, 0.070),
        ("110", 0.362, 0.103),
        ("210", 0.734, 0.139),
        ("214", 0.984, 0.139),
        ("325", 1.475, 0.210),
        ("425", 4.475, 0.275),
    ],
)
def test_dash_numbers_in_inches(dash: str, inner_in: float, section_in: float) -> None:
    row = oring(dash)
    assert row is not None
    assert row.inner_mm == pytest.approx(inner_in * INCH, abs=0.02)
    assert row.section_mm == pytest.approx(section_in * INCH, abs=0.02)


def test_sections_by_series() -> None:
    """AS568: 0xx 1.78 mm from -004 on, 1xx 2.62, 2xx 3.53, 3xx 5.33, 4xx 6.99."""
    want = {"0": 1.78, "1": 2.62, "2": 3.53, "3": 5.33, "4": 6.99}
    for row in orings():
        if row.dash in {"001", "002", "003"} or row.dash[0] not in want:
            continue
        assert row.section_mm == want[row.dash[0]], row


def test_inner_diameters_rise_within_a_series() -> None:
    for first in "01234":
        rows = [row.inner_mm for row in orings() if row.dash.startswith(first)]
        assert all(small < large for small, large in pairwise(rows))


def test_spellings_and_unknown_numbers() -> None:
    assert oring("-210") is oring("210")
    assert oring("6") is oring("006")
    assert oring("999") is None
    assert oring("") is None


def test_every_size_finds_itself() -> None:
    for row in orings():
        assert orings_near(row.inner_mm, row.section_mm)[0] == row
    assert orings_near(18.64, 9) == ()
