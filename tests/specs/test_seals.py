from __future__ import annotations

import pytest

from screener.specs.seal_tolerances import press_fit_rows, press_fits, seal_seat_rows, seal_width_tolerance
from screener.specs.seals import seal_size, seal_sizes


@pytest.mark.parametrize(
    "size",
    [
        (16, 28, 7),  # common practice: a metric nitrile seal of this size exists as a standard size
        (35, 52, 7),  # from memory: the usual size for a 35 mm shaft
        (35, 52, 10),  # GOST 8752-79, row 2; the width decides
        (40, 62, 8),  # GOST 8752-79
        (30, 52, 10),  # GOST 8752-79
        (8, 22, 7),  # GOST 8752-79, row 1
        (6, 16, 7),  # GOST 8752-79, row 4
    ],
)
def test_standard_sizes(size: tuple[float, float, float]) -> None:
    row = seal_size(*size)
    assert row is not None
    assert row.size == "x".join(f"{value:g}" for value in size)


def test_a_size_off_the_list_is_none() -> None:
    assert seal_size(35.3, 52, 7) is None
    assert seal_size(52, 35, 7) is None


def test_sizes_are_possible_and_single() -> None:
    sizes = [(row.shaft_mm, row.housing_mm, row.width_mm) for row in seal_sizes()]
    assert len(sizes) == len(set(sizes))
    assert len(sizes) > 250
    for row in seal_sizes():
        # A lip seal needs some 4 mm of wall; the width stays below the wall times three (geometry).
        assert 4 <= (row.housing_mm - row.shaft_mm) / 2 <= 20
        assert 5 <= row.width_mm <= 20


@pytest.mark.parametrize(
    ("case", "housing_mm", "low_mm", "high_mm"),
    [  # three agreeing public pages of seal makers
        ("metal case", 50, 0.10, 0.20),
        ("rubber covered", 50, 0.15, 0.30),
        ("metal case", 52, 0.13, 0.23),
        ("rubber covered", 110, 0.20, 0.35),
    ],
)
def test_press_fit_allowances(case: str, housing_mm: float, low_mm: float, high_mm: float) -> None:
    first = press_fits(case, housing_mm)[0]  # type: ignore[arg-type]
    assert (first.low_mm, first.high_mm) == (low_mm, high_mm)


def test_allowances_overlap_between_tables_and_rise() -> None:
    for housing_mm in (20, 40, 60, 100, 140, 200):
        for case in ("metal case", "rubber covered"):
            rows = press_fits(case, housing_mm)  # type: ignore[arg-type]
            assert len(rows) == 2
            assert max(row.low_mm for row in rows) < min(row.high_mm for row in rows)
    for case in ("metal case", "rubber covered"):
        for table in {row.table for row in press_fit_rows()}:
            highs = [row.high_mm for row in press_fit_rows() if (row.case, row.table) == (case, table)]
            assert highs == sorted(highs)


def test_widths_and_seats() -> None:
    narrow, wide = seal_width_tolerance(7), seal_width_tolerance(12)
    assert narrow is not None
    assert wide is not None
    assert (narrow.tolerance_mm, wide.tolerance_mm) == (0.2, 0.3)  # a seal maker's page and GOST 8752-79
    seats = {row.what: row for row in seal_seat_rows()}
    assert seats["shaft tolerance class"].unit == "h11"
    assert (seats["shaft surface Ra"].low, seats["shaft surface Ra"].high) == (0.2, 0.8)
    assert seats["shaft hardness"].low == 45
