"""Weighing of indicators. Worked sums by the definition of dB: 10 log10 of 2, 5, 10, 20, 100 = 3.0, 7.0, 10, 13, 20."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from screener.screening.learning import learned_indicators
from screener.screening.model import Finding
from screener.screening.weighing import Absence, absence, decibels, weigh
from screener.specs.screening_rules import (
    Indicator,
    SuspicionSettings,
    indicator_groups,
    indicators,
    suspicion_settings,
)

SETTINGS = SuspicionSettings(prior_percent=1, weak_from_db=3, moderate_from_db=7, strong_from_db=13)
LEVELS = ("none", "weak", "moderate", "strong")


def sign(name: str, group: str, ratio: float, *, alone: bool = False, cause: str = "") -> Indicator:
    return Indicator(name, group, "…", ratio, ratio / 2, ratio * 2, "judgement", (), alone, cause)


def found(*names: str) -> list[Finding]:
    return [Finding("c", "question", "suspicion", "…", "…", indicator=name) for name in names]


def weighed(*signs: Indicator):
    return weigh(found(*(s.id for s in signs)), {s.id: s for s in signs}, SETTINGS)


@pytest.mark.parametrize(("ratio", "db"), [(2, 3.0), (5, 7.0), (10, 10.0), (20, 13.0), (100, 20.0)])
def test_decibels(ratio, db):
    assert decibels(ratio) == pytest.approx(db, abs=0.05)


def test_one_cause_counts_once():
    # Two of one group: the second a quarter, 10 + 2.5; two groups: 10 + 10 (judgement; never more than half).
    assert weighed(sign("A", "g", 10), sign("B", "g", 10)).ratio_db == pytest.approx(12.5)
    assert weighed(sign("A", "g", 10), sign("B", "h", 10)).ratio_db == pytest.approx(20)


def test_the_same_indicator_found_twice_is_one():
    a = sign("A", "g", 10)
    assert weigh(found("A", "A"), {"A": a}, SETTINGS).ratio_db == pytest.approx(10)


def test_strong_needs_two_groups_or_one_that_stands_alone():
    assert weighed(sign("A", "g", 1000)).level == "moderate"
    assert weighed(sign("A", "g", 10), sign("B", "h", 10)).level == "strong"
    assert weighed(sign("A", "g", 10), sign("B", "h", 1.5)).level == "moderate"
    assert weighed(sign("A", "g", 100, alone=True)).level == "strong"


_SIGNS = st.lists(
    st.builds(
        sign,
        st.sampled_from("ABCDEFGH"),
        st.sampled_from("gh"),
        st.floats(1.01, 300),
        alone=st.booleans(),
        cause=st.sampled_from(["", "re-boxing"]),
    ),
    unique_by=lambda s: s.id,
    max_size=6,
)


@given(_SIGNS)
def test_the_range_holds_the_total(signs):
    result = weighed(*signs)
    assert result.low_db <= result.ratio_db <= result.high_db


@given(_SIGNS, st.floats(1.01, 300), st.sampled_from("ghi"), st.sampled_from(["", "re-boxing"]))
def test_another_sign_never_lowers_suspicion(signs, ratio, group, cause):
    before, after = weighed(*signs), weighed(*signs, sign("Z", group, ratio, cause=cause))
    assert after.ratio_db >= before.ratio_db - 1e-9
    assert LEVELS.index(after.level) >= LEVELS.index(before.level)


def test_shipped_file_keeps_a_single_ordinary_sign_below_strong():
    # At 1 % prior, 13 dB reaches 17 %, 20 dB 50 % (Bayes): no single indicator but the few named may say "strong".
    for indicator in indicators().values():
        result = weigh(found(indicator.id), indicators(), suspicion_settings())
        assert (result.level == "strong") == indicator.alone_enough_for_strong


def test_one_everyday_event_counts_once_across_groups():
    # One re-boxing gives another box and another label: 10 + 2.5, and never two independent groups.
    box, tag = sign("A", "package", 10, cause="re-boxing"), sign("B", "label", 10, cause="re-boxing")
    both = weighed(box, tag)
    assert both.ratio_db == pytest.approx(12.5)
    assert both.level == "moderate"
    assert weighed(box, sign("B", "label", 10)).level == "strong"


def test_a_heap_of_one_group_says_no_more_than_its_cap():
    heap = [sign(name, "g", 30) for name in "ABCDEFGH"]
    assert weighed(*heap).ratio_db == pytest.approx(SETTINGS.cap_db)


def test_the_range_is_that_of_drawn_judgements():
    # Drawn: each ratio log-normal with its range as 90 % interval, one draw a group (one cause), groups apart.
    rng = np.random.default_rng(6)
    signs = [sign("A", "g", 20), sign("B", "g", 8), sign("C", "h", 10), sign("D", "i", 6)]
    draws = np.zeros(200_000)
    shares = {w.indicator: w.share for w in weighed(*signs).indicators}
    for group in "ghi":
        z = rng.standard_normal(draws.size) / stats.norm.ppf(0.95)
        for each in (s for s in signs if s.group == group):
            draws += shares[each.id] * (decibels(each.ratio) + z * decibels(2))
    result = weighed(*signs)
    assert result.low_db == pytest.approx(np.quantile(draws, 0.05), abs=0.1)
    assert result.high_db == pytest.approx(np.quantile(draws, 0.95), abs=0.1)
    naive_low = sum(shares[s.id] * decibels(s.ratio_low) for s in signs)
    assert result.low_db > naive_low + 1


def absent(looked_for, suspicion):
    used = learned_indicators(indicators(), (), suspicion_settings())
    return absence(looked_for, suspicion, used, indicator_groups(), suspicion_settings())


def two_sorts_counted(shown: list[float], unseen: list[float]) -> float:
    """The ratio by counting: of 2 bad items one shows what good ones show, the other what makes all of them right."""
    # P(seen | bad) = ratio x P(seen | good), of both sorts together, so the second sort has 2 x ratio - 1 of it.
    on_good = np.prod([0.001] * len(shown)) * np.prod([0.9] * len(unseen))
    second = np.prod([(2 * r - 1) * 0.001 for r in shown]) * np.prod([(2 * r - 1) * 0.9 for r in unseen])
    return float((on_good + second) / 2 / on_good)


def test_absence_speaks_a_little_and_never_below_the_share_that_shows_nothing():
    said = absent(indicators(), weighed())
    assert set(said.groups) == set(indicator_groups())
    assert decibels(0.5) < said.db < decibels(0.6)
    assert said.half_db > 0
    groups = [g.absence_ratio for g in indicator_groups().values()]
    assert said.db == pytest.approx(decibels(two_sorts_counted([], groups)), abs=0.05)


def test_what_an_item_does_not_show_says_more_where_it_shows_something():
    # Bayes by the law of total probability: half the bad items show nothing, this one is of the other half.
    shown = weigh(found("PK1"), indicators(), suspicion_settings())
    said = absent(("PK1", "LB2"), shown)
    assert said.groups == ("label",)
    assert said.db == pytest.approx(decibels(two_sorts_counted([20], [0.9]) / 20), abs=0.05)
    assert said.db < absent(("LB2",), weighed()).db


def test_further_signs_of_a_group_count_a_quarter_when_they_are_not_seen_too():
    # PK7: on 3 % of good items and 7.2 % of bad ones: (0.928/0.97) to the power of a quarter; the group's name is out.
    said = absent(("PK1", "PK7"), weigh(found("PK1"), indicators(), suspicion_settings()))
    assert said.groups == ()
    assert said.db == pytest.approx(decibels(two_sorts_counted([20], [(0.928 / 0.97) ** 0.25]) / 20), abs=0.051)


@given(st.sets(st.sampled_from(sorted(indicators()))), st.sets(st.sampled_from(sorted(indicators())), max_size=6))
def test_absence_never_adds_to_suspicion(looked_for, seen):
    assert absent(looked_for, weigh(found(*seen), indicators(), suspicion_settings())).db <= 0


def test_one_sign_not_seen_says_what_bayes_says_and_no_more_than_its_group():
    # Seen on 3 % of good items and 9 % of bad ones (ratio 3): 0.91/0.97. A second sign of the group adds nothing.
    db = absent(("MK7",), weighed()).db
    assert db == pytest.approx(decibels(0.91 / 0.97), abs=0.05)
    assert absent(("MK7", "MK8"), weighed()).db == db
    assert absent(("MK2",), weighed()).db == pytest.approx(decibels(0.85), abs=0.05)
    assert absent(("MK9", "GM5"), weighed()) == Absence(0.0, 0.0, ())
