"""What a ratio means at a base rate: Bayes' theorem for odds, worked against its form for shares."""

from __future__ import annotations

import pytest

from screener.screening.model import Suspicion
from screener.screening.odds import odds_db, odds_say
from screener.screening.weighing import decibels


def _share(odds_in_db: float) -> float:
    odds = 10 ** (odds_in_db / 10)
    return odds / (1 + odds)


@pytest.mark.parametrize(
    ("bad", "found", "false", "right"),
    [(0.5, 80, 5, 7), (2, 80, 5, 25), (2, 80, 2, 45), (5, 80, 5, 46), (5, 80, 2, 68), (10, 80, 2, 82)],
)
def test_alarms_that_are_right(bad, found, false, right):
    # Positive predictive value p s / (p s + (1 - p) f), in percent, as in every handbook of screening tests.
    p, s, f = bad / 100, found / 100, false / 100
    value = p * s / (p * s + (1 - p) * f)
    assert 100 * value == pytest.approx(right, abs=0.5)
    alarm = Suspicion("strong", decibels(s / f), 0, 0, prior_percent=bad)
    assert _share(odds_db(alarm)) == pytest.approx(value)


@pytest.mark.parametrize(("db", "percent"), [(13, 17), (20, 50), (25, 76)])
def test_from_one_percent(db, percent):
    assert 100 * _share(odds_db(Suspicion("strong", db, db, db))) == pytest.approx(percent, abs=0.5)


def test_words_name_the_prior_and_what_the_range_leaves_open():
    says = odds_say(Suspicion("moderate", 10, 3, 25))
    assert says.startswith("Where about 1 item in 100 of an ordinary supplier is expected to be bad, ")
    assert "an ordinary cause is more likely" in says
    assert "leaves open that an ordinary cause is far more likely or that something wrong is more likely" in says
    assert "%" not in says


def test_a_better_supplier_needs_more():
    authorised = Suspicion("moderate", 20, 20, 20, prior_percent=0.2, supplier_class="authorised sellers")
    assert odds_db(authorised) < odds_db(Suspicion("moderate", 20, 20, 20))
    assert "1 item in 500 of authorised sellers" in odds_say(authorised)
