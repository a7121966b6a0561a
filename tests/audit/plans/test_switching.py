"""Sequences from the rules as printed: MIL-STD-105E, 4.7.1 to 4.8; the switching score of ISO 2859-1 from memory."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.audit.plans.single import single_plan
from screener.audit.plans.switching import START, Outcome, PastLot, State, judge, next_state, read_history, walk
from screener.errors import WrongUsage


def stages(words: str, *, allowed: bool = False, accept_number: int = 0) -> str:
    """Return the stage for the next lot after each word; a: accepted, r: not, b: between Ac and Re."""
    state, seen = START, []
    for word in words:
        outcome = Outcome(word != "r", accept_number, tighter_accepts=word == "a", between=word == "b")
        state = next_state(state, outcome, reduced_allowed=allowed)
        seen.append(state.stage[0])
    return "".join(seen)


@pytest.mark.parametrize(
    ("lots", "expected"),
    [
        ("rr", "nt"),  # 4.7.1: 2 of 2
        ("raaar", "nnnnt"),  # 2 of 5
        ("raaaar", "nnnnnn"),  # the first one has left the five
        ("arar", "nnnt"),
        ("rraaaaa", "nt" + "ttttn"),  # 4.7.2: five in a row
        ("rraaaaraaaaa", "nt" + "tttt" + "t" + "ttttn"),  # a lot not accepted begins the five again
        ("rrrrrrr", "nt" + "tttts"),  # 4.8: five not accepted on tightened
        ("rrrarararar", "nt" + "ttttttt" + "ts"),  # cumulative, not in a row
        ("rraaaaarr", "nt" + "ttttn" + "nt"),  # back on normal the old ones do not count
    ],
)
def test_sequences(lots, expected) -> None:
    assert stages(lots) == expected


def test_reduced_after_thirty_points_and_back() -> None:
    # Ac 0 or 1: two points a lot, 15 lots; Ac 2 and more: three points, 10 lots.
    assert stages("a" * 15, allowed=True) == "n" * 14 + "r"
    assert stages("a" * 10, allowed=True, accept_number=2) == "n" * 9 + "r"
    assert stages("a" * 40) == "n" * 40, "nobody allowed it"
    assert stages("a" * 15 + "r", allowed=True)[-1] == "n"  # 4.7.4 a
    assert stages("a" * 15 + "b", allowed=True)[-1] == "n"  # 4.7.4 b
    assert stages("a" * 15 + "aaa", allowed=True)[-1] == "r"


def test_one_lot_not_accepted_ends_the_score() -> None:
    assert stages("a" * 14 + "r" + "a" * 14, allowed=True)[-1] == "n"
    assert stages("a" * 14 + "r" + "a" * 15, allowed=True)[-1] == "r"


def test_three_points_only_if_the_next_tighter_aql_accepts_too() -> None:
    barely = Outcome(accepted=True, accept_number=2, tighter_accepts=False)
    assert next_state(State(score=27), barely, reduced_allowed=True).score == 0


def test_the_plan_of_each_lot_judges_it() -> None:
    # Lot of 1200, AQL 1.0, level II: normal 80 2/3, tightened 80 1/2, reduced 32 1/3 (tables II-A to II-C).
    steps = walk(read_history(["0", "2", "3", "3", "2", "1", "0", "0", "1", "0"], 1200), "1.0")
    assert [step.after.stage[0] for step in steps] == [*list("nnntttttt"), "n"]
    assert [step.plan.accept for step in steps if step.plan] == [2, 2, 2, 2, 1, 1, 1, 1, 1, 1]


def test_between_the_numbers_of_a_reduced_plan() -> None:
    plan = single_plan(1200, "1.0", severity="reduced")
    assert not judge(plan, PastLot(1200, found=1)).between
    between = judge(plan, PastLot(1200, found=2))
    assert between.accepted
    assert between.between
    assert not judge(plan, PastLot(1200, found=3)).accepted


def test_after_a_stop_only_a_correction_goes_on() -> None:
    steps = walk(read_history(["r", "r", "r", "r", "r", "r", "r", "a", "resume", "a"], 1200), "1.0")
    assert [step.after.stage for step in steps[-4:]] == ["stopped", "stopped", "tightened", "tightened"]
    assert steps[-4].after.severity == "tightened"


def test_lots_of_other_sizes_have_their_own_plan() -> None:
    (step,) = walk(read_history(["3200:3"], 50), "1.0")
    assert step.plan is not None
    assert (step.plan.sample_units, step.plan.accept) == (125, 3)


@pytest.mark.parametrize("word", ["x", "1:2:3", "-1", "a:1", "1.5", "800:", "0/rapid", "a/"])
def test_words_that_are_no_lot(word) -> None:
    with pytest.raises(WrongUsage, match="history"):
        read_history([word], 100)


@given(st.text("arb", max_size=60), st.booleans())
def test_laws(words, allowed) -> None:
    seen = "n" + stages(words, allowed=allowed)
    steps = set(itertools.pairwise(seen))
    # No way from tightened to reduced or from reduced to tightened, and none out of a stop.
    assert steps <= {tuple(pair) for pair in ("nn", "nt", "nr", "tt", "tn", "ts", "rr", "rn", "ss")}
