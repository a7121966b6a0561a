"""Outcomes move ratios as the conjugate update of a binomial share does; scipy's beta distributions check it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from screener.screening.learning import learn
from screener.screening.model import Tally
from screener.specs.screening_rules import Indicator, indicators, suspicion_settings

SETTINGS = suspicion_settings()
SIGN = Indicator("A", "package", "…", 6, 3, 12, "judgement")
COUNTS = st.tuples(st.integers(0, 200), st.integers(0, 200), st.integers(0, 500), st.integers(0, 500)).map(
    lambda c: Tally("A", min(c[0], c[1]), max(c[0], c[1]), min(c[2], c[3]), max(c[2], c[3]))
)


@given(COUNTS)
def test_shares_are_the_posterior_means_of_scipys_beta(tally):
    before, after = learn(SIGN, None, SETTINGS), learn(SIGN, tally, SETTINGS)
    for share, seen, of, moved in (
        (before.share_of_bad, tally.seen_on_bad, tally.bad, after.share_of_bad),
        (before.share_of_good, tally.seen_on_good, tally.good, after.share_of_good),
    ):
        a, b = share * SETTINGS.outcome_strength, (1 - share) * SETTINGS.outcome_strength
        assert moved == pytest.approx(stats.beta(a + seen, b + of - seen).mean())


def test_one_item_at_a_time_predicts_as_the_beta_binomial_does():
    # The chance of 3 seen of 5 bad items, predicted item by item with the share as learned so far, times the orders.
    chance, seen = 1.0, 0
    for at, hit in enumerate((1, 0, 1, 1, 0)):
        share = learn(SIGN, Tally("A", seen, at), SETTINGS).share_of_bad
        chance *= share if hit else 1 - share
        seen += hit
    start = learn(SIGN, None, SETTINGS).share_of_bad
    a, b = start * SETTINGS.outcome_strength, (1 - start) * SETTINGS.outcome_strength
    assert math.comb(5, 3) * chance == pytest.approx(stats.betabinom(5, a, b).pmf(3))


def test_without_outcomes_nothing_moves():
    for judged in indicators().values():
        for tally in (None, Tally(judged.id)):
            assert learn(judged, tally, SETTINGS).indicator.ratio == pytest.approx(judged.ratio)


@given(COUNTS)
def test_the_ratio_stays_within_its_range_and_seen_on_bad_raises_it(tally):
    used = learn(SIGN, tally, SETTINGS).indicator
    assert used.ratio_low <= used.ratio <= used.ratio_high
    more = Tally("A", tally.seen_on_bad + 1, tally.bad + 1, tally.seen_on_good, tally.good)
    assert learn(SIGN, more, SETTINGS).indicator.ratio > used.ratio


def test_many_outcomes_carry_the_ratio_to_what_was_counted():
    # 3000 of 10000 bad and 1000 of 10000 good: a ratio of 3, whatever was judged.
    used = learn(SIGN, Tally("A", 3000, 10000, 1000, 10000), SETTINGS).indicator
    assert used.ratio == pytest.approx(3, rel=0.03)
    assert used.ratio_high / used.ratio_low < SIGN.ratio_high / SIGN.ratio_low


def test_a_sign_that_says_nothing_by_nature_learns_nothing():
    assert learn(indicators()["LB5"], Tally("LB5", 50, 50, 0, 50), SETTINGS).indicator.ratio == 1


@pytest.mark.parametrize("name", [name for name, each in indicators().items() if each.ratio > 1])
@pytest.mark.parametrize("case", [(1, 1, 0, 0), (0, 1, 0, 0), (0, 0, 1, 1), (0, 0, 0, 1)])
def test_a_single_case_moves_no_sign_by_more_than_one_decibel(name, case):
    judged = indicators()[name]
    moved = learn(judged, Tally(name, *case), SETTINGS).indicator.ratio / judged.ratio
    assert abs(10 * math.log10(moved)) <= 1.0
