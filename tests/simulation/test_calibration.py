"""What the stated shares are worth in simulated deliveries (assumptions: `simulation.deliveries`).

Figures over more worlds: ``python tests/simulation/measure_calibration.py``. Brier, Monthly Weather Review 78 (1950).
"""

from __future__ import annotations

import numpy as np
import pytest
from simulation.measure_calibration import as_frequency, brier, flags, reliability, same_for_each_flag, total, worlds

WORLDS, ITEMS = 8, 10_000


@pytest.fixture(scope="module")
def judged():
    return worlds(WORLDS, ITEMS, 11)


@pytest.fixture(scope="module")
def others():
    return worlds(WORLDS, ITEMS, 12)


def share(judged, level):
    mine = judged.level == level
    return judged.bad[mine].mean()


@pytest.mark.parametrize("level", ["none", "weak", "moderate", "strong"])
def test_the_true_share_of_each_level_lies_in_the_stated_range(judged, level):
    mine = judged.level == level
    assert mine.sum() > 200
    assert judged.low[mine].mean() < share(judged, level) < judged.high[mine].mean()


@pytest.mark.parametrize("level", ["weak", "moderate", "strong"])
def test_what_is_stated_of_a_level_is_near_the_truth(judged, level):
    # "At most about": never less than is true by more than chance, and not twice as much.
    mine = judged.level == level
    true, chance = share(judged, level), np.sqrt(share(judged, level) / mine.sum())
    assert true - 2 * chance < judged.tool[mine].mean() < 1.6 * true + 2 * chance


def test_each_level_holds_more_bad_items_than_the_one_below(judged):
    shares = [share(judged, level) for level in ("none", "weak", "moderate", "strong")]
    assert shares == sorted(shares)
    assert shares[-1] > 10 * judged.bad.mean()


def test_more_stated_is_more_true(judged):
    true = [bad for number, _, bad in reliability(judged.tool, judged.bad) if number >= 100]
    assert true == sorted(true)


def test_better_than_counting_red_flags_and_than_multiplying_all_ratios(judged):
    tool = brier(judged.tool, judged.bad)
    assert tool < brier(same_for_each_flag(judged), judged.bad)
    assert tool < brier(judged.product, judged.bad)


def test_better_than_a_count_when_both_are_told_the_truth(judged, others):
    counted = brier(as_frequency(flags(judged), flags(others), others.bad), judged.bad)
    assert brier(as_frequency(total(judged), total(others), others.bad), judged.bad) < counted
    assert counted < brier(np.full(len(judged.bad), others.bad.mean()), judged.bad)


def test_flags_among_good_items_rarely_say_strong(judged):
    # The alarm budget: at most one hold in twenty good items.
    held = np.isin(judged.level, ("moderate", "strong"))
    assert held[~judged.bad].mean() < 0.1
    assert (judged.level == "strong")[~judged.bad].mean() < 0.01
