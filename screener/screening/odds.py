"""What a ratio means once the share of bad items expected beforehand is counted in: odds, in words.

    posterior odds = prior odds × likelihood ratio (Bayes)

No percentage is ever said about an item: prior and ratios are judgement, and a number would be read as truth.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from screener.screening.weighing import decibels

if TYPE_CHECKING:
    from screener.screening.model import Suspicion

_WORDS: tuple[tuple[float, str], ...] = (
    (1 / 30, "an ordinary cause is far more likely"),
    (1 / 3, "an ordinary cause is more likely"),
    (3.0, "neither an ordinary cause nor something wrong is plainly more likely"),
    (30.0, "something wrong is more likely than an ordinary cause"),
)
_AT_MOST = "Read it as at most: in simulated deliveries somewhat fewer items were bad than is stated."
_BEYOND = "something wrong is far more likely than an ordinary cause"


def odds_db(suspicion: Suspicion) -> float:
    """Odds that the item is not what it is said to be, in dB."""
    share = suspicion.prior_percent / 100
    return decibels(share / (1 - share)) + suspicion.ratio_db + suspicion.absence_db


def odds_range_db(suspicion: Suspicion) -> tuple[float, float]:
    """The range of the odds, in dB; what was seen and what was not are judged apart: half ranges add as errors do."""
    middle, half = odds_db(suspicion), suspicion.absence_half_db
    down, up = (abs(suspicion.ratio_db - end) for end in (suspicion.low_db, suspicion.high_db))
    return middle - math.hypot(down, half), middle + math.hypot(up, half)


def odds_words(odds: float) -> str:
    """Odds in words."""
    return next((words for below, words in _WORDS if odds < below), _BEYOND)


def odds_say(suspicion: Suspicion) -> str:
    """Say what the total means at the prior of the settings, with what its range leaves open."""
    middle, low, high = (odds_words(10 ** (db / 10)) for db in (odds_db(suspicion), *odds_range_db(suspicion)))
    of = suspicion.supplier_class or "an ordinary supplier"
    says = f"Where about {_one_in(suspicion.prior_percent)} of {of} is expected to be bad, {middle}"
    open_still = [words for words in dict.fromkeys((low, high)) if words != middle]
    if open_still:
        says += f"; the range of the weights leaves open that {' or that '.join(open_still)}"
    return f"{says}. {_AT_MOST}"


def _one_in(percent: float) -> str:
    return f"1 item in {100 / percent:.0f}"
