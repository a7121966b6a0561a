"""Age, impossible dates and odd quantities. Storage years are those of ISO 2230 groups and of published advice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from screening.items import GOOD_6205, TODAY, barcode, item, label, need

from screener.screening.checks import label_data
from screener.screening.checks.label_data import day_of
from screener.screening.model import Observation, Source
from screener.screening.screen import screen

# TODAY is 2026-03-12.
BEARING, OPEN, SEAL, FKM = need("6205-2RS C3"), need("6205"), need("35x52x7 NBR"), need("35x52x7 FKM")


def found(requirement, *observations: Observation) -> dict[str, tuple[str, str | None]]:
    checked = label_data.check(item(requirement, *observations), TODAY)
    return {f.code: (f.weight, f.indicator) for f in checked.findings}


@pytest.mark.parametrize(
    ("requirement", "date", "code"),
    [
        # Closed greased bearings: sources say 1 to 5 years; a remark from 2, a review from 5 (judgement).
        (BEARING, "2025-06", None),
        (BEARING, "2023-02", "stored_long"),
        (BEARING, "2020-11-02", "stored_too_long"),
        (BEARING, "2019-W14", "stored_too_long"),
        # An open preserved bearing: about 5 years (common practice).
        (OPEN, "2022-01", None),
        (OPEN, "2020-01", "stored_too_long"),
        # ISO 2230: NBR is of group B, 7 years; FKM of group C, 10 years.
        (SEAL, "2019-06", None),
        (SEAL, "2018-06", "stored_too_long"),
        (FKM, "2018-06", None),
        (FKM, "2015-06", "stored_too_long"),
    ],
)
def test_age_by_what_the_part_is(requirement, date: str, code: str | None) -> None:
    told = found(requirement, label("date", date))
    assert set(told) == ({code} if code else set())
    assert all(indicator is None for _, indicator in told.values())


def test_an_old_part_is_held_for_review_and_not_suspected() -> None:
    result = screen(item(BEARING, *GOOD_6205, label("date", "2018-05")), TODAY)
    assert result.disposition.word == "hold"
    assert result.suspicion.level == "none"
    assert "grease" in result.disposition.next_step


def test_a_date_read_unsurely_ages_nothing() -> None:
    assert found(BEARING, label("date", "2012-05", p=0.6)) == {}


def test_dates_ahead() -> None:
    # GOST 520-2011, 10.1: in the last quarter the next year's code may be marked.
    assert found(BEARING, label("date", "2027-05")) == {"date_impossible": ("question", "LB8")}
    assert found(BEARING, label("date", "2026-05")) == {}


def test_a_date_until_which_it_keeps() -> None:
    until = replace(barcode("date", "2025-12-31"), source=Source("barcode", "box.jpg", reader="best_before"))
    assert found(SEAL, until) == {"stored_too_long": ("question", None)}
    assert found(SEAL, replace(until, value="2031-12-31")) == {}


def test_a_date_that_no_calendar_has() -> None:
    odd = barcode("problem", "(11) PROD DATE: 260231 is not a date (YYMMD0)")
    assert found(BEARING, odd) == {"date_impossible": ("question", "LB8")}
    assert found(BEARING, barcode("problem", "No GS1 element begins with '9999'")) == {}


@pytest.mark.parametrize(("number", "odd"), [(0, True), (1, False), (500, False), (5_000_000, True)])
def test_quantities(number: int, odd: bool) -> None:
    assert (found(BEARING, barcode("quantity", number)) == {"quantity_odd": ("question", None)}) is odd


@pytest.mark.parametrize(
    ("text", "day"), [("2026-05", "2026-05-01"), ("2026-05-09", "2026-05-09"), ("2026-W14", "2026-03-30")]
)
def test_first_day(text: str, day: str) -> None:
    # Week 14 of 2026 begins on 30 March (ISO 8601 calendar).
    assert str(day_of(text)) == day


@pytest.mark.parametrize("text", ["", "26", "soon", "2026-13"])
def test_no_day(text: str) -> None:
    assert day_of(text) is None
