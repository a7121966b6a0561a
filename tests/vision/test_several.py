"""Several photos read together. Oracles: simulated readers whose truth is known, the mean of correlated numbers as GUM
gives it (JCGM 100:2008, F.1.2.3 and 5.2.2: variance of a mean of n equally correlated numbers is r s² + (1 - r) s²/n),
and marks drawn twice under different light.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.vision.marks import read_marks
from screener.vision.marks.designation import key_of
from screener.vision.model import Measured
from screener.vision.several import (
    COMMON_VARIANCE,
    Ballot,
    combine,
    elect_class,
    elect_designation,
    of_one_part,
)
from screener.vision.text_engine import TextEngine

ALIKE = ("608", "606", "605", "6008", "6006", "6005", "688", "686")


def test_what_two_photos_only_suspect_they_read_together():
    halves = [Ballot({"6202/C3": 0.42, "6202/C2": 0.2}), Ballot({"6202 C3": 0.45, "6002/C3": 0.1})]
    elected = elect_designation(halves)
    assert elected is not None
    assert key_of(elected.value) == "6202C3"
    assert elected.p > 0.6 > max(max(b.chances.values()) for b in halves)
    assert elected.supporters == (0, 1)


def test_a_wrong_reading_is_outvoted():
    elected = elect_designation([Ballot({"606": 0.8}), Ballot({"608": 0.7, "606": 0.1}), Ballot({"608": 0.75})])
    assert elected is not None
    assert elected.value == "608"
    assert elected.opponents == (0,)


def test_two_that_contradict_each_other_settle_nothing():
    elected = elect_designation([Ballot({"608": 0.8}), Ballot({"606": 0.8})])
    assert elected is not None
    assert elected.margin < 0.1
    assert elected.p < 0.5


def test_a_photo_that_shows_no_mark_takes_nothing_away():
    alone = elect_designation([Ballot({"6204": 0.8})])
    with_blank = elect_designation([Ballot({"6204": 0.8}), Ballot({}), Ballot({"6304": 0.01})])
    assert alone is not None
    assert with_blank is not None
    assert alone.p == pytest.approx(0.8, abs=0.02)
    assert with_blank.p == pytest.approx(alone.p, abs=0.02)


def test_a_suffix_in_the_glare_is_no_contradiction():
    elected = elect_designation([Ballot({"6202": 0.85}), Ballot({"6202/C3": 0.85})])
    assert elected is not None
    assert elected.value == "6202/C3"
    assert elected.p > 0.6


def test_nothing_read_is_nothing():
    assert elect_designation([Ballot({}), Ballot({})]) is None


def simulated(rng: np.random.Generator, photos: int) -> tuple[str, list[Ballot]]:
    """A worn mark (worn alike in all photos) and readers that say how sure they are, and are as sure as they say."""
    truth = str(rng.choice(ALIKE))
    taken_for = str(rng.choice([other for other in ALIKE if other != truth]))
    worn = rng.random() < 0.15
    ballots = []
    for _ in range(photos):
        sure = rng.uniform(0.2, 0.95)
        right = rng.random() < sure
        wrong = taken_for if worn else str(rng.choice([other for other in ALIKE if other != truth]))
        ballots.append(Ballot({truth if right else wrong: sure}))
    return truth, ballots


@pytest.mark.parametrize("photos", [2, 3, 5])
def test_stated_probabilities_hold_for_simulated_readers(photos):
    rng = np.random.default_rng(7)
    outcomes = []
    for _ in range(3000):
        truth, ballots = simulated(rng, photos)
        elected = elect_designation(ballots)
        assert elected is not None
        outcomes.append((elected.p, elected.value == truth))
    p, right = np.array(outcomes).T
    sure = p > 0.9
    assert sure.mean() > 0.2
    assert right[sure].mean() >= p[sure].mean() - 0.03
    assert right[p > 0.5].mean() >= p[p > 0.5].mean() - 0.03


def test_classes_that_agree_grow_surer_and_ones_that_differ_do_not():
    words = ("open", "shield", "rubber_seal")
    same = elect_class([Ballot({"shield": 0.7}), Ballot({"shield": 0.75})], words)
    split = elect_class([Ballot({"shield": 0.8}), Ballot({"open": 0.8})], words)
    assert same is not None
    assert split is not None
    assert 0.8 < same.p < 0.985
    assert split.p < 0.55


@pytest.mark.parametrize("n", [2, 4, 20])
def test_what_photos_have_in_common_is_not_averaged_away(n):
    """JCGM 100:2008, F.1.2.3: correlated repeats never give less than the common part."""
    u, r = 0.3, COMMON_VARIANCE
    got = combine([Measured(35.0, u)] * n)
    assert got.u == pytest.approx(np.sqrt(r * u**2 + (1 - r) * u**2 / n))
    assert got.value == pytest.approx(35.0)


def test_combined_interval_covers_in_simulation():
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(2000):
        common = rng.normal(0, 0.3 * np.sqrt(COMMON_VARIANCE))
        seen = [Measured(35 + common + rng.normal(0, 0.3 * np.sqrt(1 - COMMON_VARIANCE)), 0.3) for _ in range(3)]
        got = combine(seen)
        held += abs(got.value - 35) <= 1.96 * got.u
    # At least 95 %, less the scatter of the count itself; the widening for scatter makes it a little more.
    assert held >= stats.binom.ppf(0.01, 2000, 0.95)
    assert held <= 0.99 * 2000


def test_photos_that_scatter_more_than_they_say_are_believed_less():
    calm, wild = ([Measured(35 + d, 0.1) for d in (-s, 0, s)] for s in (0.02, 0.35))
    assert combine(wild).u > 1.5 * combine(calm).u


def test_two_sizes_are_not_one_part():
    assert of_one_part([Measured(35.1, 0.2), Measured(34.8, 0.2)])
    assert not of_one_part([Measured(35.1, 0.2), Measured(40.0, 0.3)])


def test_a_mark_drawn_twice_under_bad_light_is_read_together():
    """Two photos, neither of which gives a reading to be used (p >= 0.5), give the mark that was drawn."""
    engine = TextEngine(threads=1)
    mark = DrawnFace((DrawnMark("6305-2Z", 40.0),), closure="shield", canvas=(840, 760), strength=0.07, blur_px=1.2)
    ballots = []
    for seed in (3, 7):
        gray, outer, bore = draw(replace(mark, seed=seed, noise=5.0))
        seen = read_marks(gray, outer, bore, kind="bearing", engine=engine)
        ballots.append(Ballot({vote.text: vote.p for vote in seen.votes}))
    assert all(max(b.chances.values(), default=0.0) < 0.5 for b in ballots), ballots
    elected = elect_designation(ballots)
    assert elected is not None
    assert key_of(elected.value) == "63052Z"
    assert elected.p > 0.5
