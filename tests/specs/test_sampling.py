from __future__ import annotations

import itertools

import pytest

from screener.errors import InputUnreadable
from screener.specs.sampling import AQLS, LEVELS, SEVERITIES, _cell, lot_ranges, plan_rows, unit_steps
from screener.specs.screening_rules import required_checks
from screener.specs.table import parse_rows


def test_lot_ranges_leave_no_gap() -> None:
    # MIL-STD-105E table I: 15 ranges from 2 units on.
    ranges = lot_ranges()
    assert len(ranges) == 15
    assert ranges[0].from_units == 2
    for one, other in itertools.pairwise(ranges):
        assert one.to_units is not None
        assert other.from_units == one.to_units + 1
    assert ranges[-1].to_units is None
    assert all(set(each.letters) == set(LEVELS) for each in ranges)


def test_sample_sizes_are_the_preferred_numbers() -> None:
    # MIL-STD-105E table II-A: sizes follow the R5 series of ISO 3 from 2 to 2000 (2, 3, 5, 8, 13, 20 …).
    sizes = [row.sample_units for row in plan_rows("normal")]
    assert sizes == [2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000]
    assert [row.sample_units for row in plan_rows("reduced")] == [2, 2, *sizes[:14]]


def test_every_row_has_every_aql() -> None:
    assert len(AQLS) == 26
    for severity in SEVERITIES:
        assert [row.letter for row in plan_rows(severity)] == list("ABCDEFGHJKLMNPQR") + ["S"] * (
            severity == "tightened"
        )
        assert all(set(row.cells) == set(AQLS) for row in plan_rows(severity))


def test_whatever_is_required_has_something_to_do() -> None:
    for entry in required_checks():
        served = {step.check for step in unit_steps(entry.kind)}
        assert set(entry.checks) <= served, entry.id


@pytest.mark.parametrize("text", ["2-3", "3/2", "x", "", "1/1"])
def test_a_broken_cell_is_told_with_its_place(text) -> None:
    (row,) = parse_rows("t.csv", f"aql_1.0,source\n{text},x\n", ("aql_1.0",))
    with pytest.raises(InputUnreadable, match=r"aql_1\.0"):
        _cell(row, "aql_1.0")
