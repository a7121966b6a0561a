from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.audit.plans.single import code_letter, known_aql, one_step_tighter, single_plan
from screener.errors import WrongUsage
from screener.specs.sampling import AQLS, LEVELS, SEVERITIES, Numbers, plan_rows


def _same_as(plan, row: dict[str, str]) -> bool:
    sample = int(row["sample_size_after_arrow"])
    return (plan.sample_units, plan.accept, plan.reject) == (sample, int(row["Ac"]), int(row["Re"]))


def test_every_plan_is_that_of_the_outside_list(standards) -> None:
    # Tables II-A to II-C of MIL-STD-105E as an open statistics package lists them, arrows followed there.
    rows = standards("mil_std_105e_single_plans.csv")
    assert len(rows) == 1248
    wrong = [
        row
        for row in rows
        if not _same_as(single_plan(10**6, row["aql"], "II", row["inspection"], letter=row["code_letter"]), row)
    ]
    assert wrong == []


def test_every_code_letter_is_that_of_the_outside_list(standards) -> None:
    rows = standards("iso2859_code_letters.csv")
    for row in rows:
        low, _, high = row["lot_size"].rstrip("+").partition("-")
        for level in LEVELS:
            assert code_letter(int(low), level) == row[level], (row, level)
            assert code_letter(int(high or 10**6), level) == row[level], (row, level)


# MIL-STD-105E tables I and II-A, II-B, II-C, typed from memory of the printed tables: lot, level, severity, AQL and
# then n, Ac, Re.
PRINTED = [
    (1200, "II", "normal", "1.0", 80, 2, 3),
    (1200, "II", "normal", "0.65", 80, 1, 2),
    (1200, "II", "normal", "2.5", 80, 5, 6),
    (1200, "II", "normal", "4.0", 80, 7, 8),
    (1200, "II", "normal", "6.5", 80, 10, 11),
    (1200, "II", "tightened", "1.0", 80, 1, 2),
    (1200, "II", "tightened", "2.5", 80, 3, 4),
    (1200, "II", "reduced", "1.0", 32, 1, 3),
    (3200, "II", "normal", "1.0", 125, 3, 4),
    (500, "II", "normal", "1.0", 50, 1, 2),
    (280, "II", "normal", "1.0", 50, 1, 2),  # G: arrow down to H
    (280, "II", "normal", "0.65", 20, 0, 1),  # G: arrow up to F
    (150, "II", "normal", "1.0", 13, 0, 1),  # F: arrow up to E
    (1200, "II", "normal", "0.25", 50, 0, 1),  # J: arrow up to H
    (1200, "II", "normal", "0.40", 125, 1, 2),  # J: arrow down to K
    (35000, "III", "tightened", "1.5", 500, 12, 13),
    (600000, "III", "tightened", "0.025", 3150, 1, 2),  # R: arrow down to S
]


@pytest.mark.parametrize(("lot", "level", "severity", "aql", "sample", "accept", "reject"), PRINTED)
def test_printed_plans(lot, level, severity, aql, sample, accept, reject) -> None:
    plan = single_plan(lot, aql, level, severity)
    assert (plan.sample_units, plan.accept, plan.reject) == (sample, accept, reject)


def test_a_sample_as_large_as_the_lot_is_the_whole_lot() -> None:
    # MIL-STD-105E, note to table II: sample size equal to or above the lot size: 100 % inspection.
    plan = single_plan(40, "0.25", "II")
    assert plan.whole_lot
    assert plan.sample_units == 40
    assert not single_plan(51, "0.25", "II").whole_lot


def test_arrows_never_lead_out_of_the_table() -> None:
    for severity in SEVERITIES:
        for row in plan_rows(severity):
            for aql in AQLS:
                plan = single_plan(10**7, aql, "II", severity, letter=row.letter)
                assert plan.sample_units > 0


def test_numbers_grow_with_the_aql_along_a_row() -> None:
    # What the diagonals of the printed tables are made for: more allowed nonconforming, more accepted.
    for severity in SEVERITIES:
        for row in plan_rows(severity):
            numbers = [cell.accept for aql in AQLS if isinstance(cell := row.cells[aql], Numbers)]
            assert numbers == sorted(numbers), (severity, row.letter)


@given(st.integers(2, 10**6), st.sampled_from(LEVELS))
def test_larger_lots_never_get_an_earlier_letter(lot: int, level: str) -> None:
    assert code_letter(lot, level) <= code_letter(lot + 1, level)


@pytest.mark.parametrize(("text", "name"), [("1", "1.0"), ("1,0", "1.0"), (0.65, "0.65"), ("10.0", "10"), (4, "4.0")])
def test_an_aql_may_be_written_in_several_ways(text, name) -> None:
    assert known_aql(text) == name


@pytest.mark.parametrize("text", ["3", "", "x", "nan", "-1", "1e9"])
def test_other_aqls_are_refused_with_the_list(text) -> None:
    with pytest.raises(WrongUsage, match=r"0\.65"):
        known_aql(text)


@pytest.mark.parametrize("lot", [-3, 0, 1])
def test_a_lot_below_two_is_no_lot(lot) -> None:
    with pytest.raises(WrongUsage, match="sampled"):
        code_letter(lot)


def test_one_step_tighter_is_the_cell_to_the_left() -> None:
    # Table II-A, row J: AQL 1.0 has 2/3, AQL 0.65 has 1/2 and 0.40 an arrow.
    assert one_step_tighter(single_plan(1200, "1.0")) == 1
    assert one_step_tighter(single_plan(1200, "0.65")) is None
