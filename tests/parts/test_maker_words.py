"""Makers' words beside a designation are no suffixes. The makers here are invented; they ship in makers.toml."""

from __future__ import annotations

import itertools
import random
import string

import pytest

from screener.parts import compare, explain


@pytest.mark.parametrize(
    "text", ["BRENVOK 6205-2RS C3", "6205-2RS C3 BRENVOK", "6205-2RS/C3, Brenvok", "kedruna 6205 2rs c3"]
)
def test_a_known_makers_word_changes_nothing(text: str) -> None:
    told, plain = explain(text), explain("6205-2RS C3")
    assert told.understood
    assert (told.basic, told.closure, told.clearance, told.cage, told.snap_ring) == (
        plain.basic,
        plain.closure,
        plain.clearance,
        plain.cage,
        plain.snap_ring,
    )
    assert any("maker" in note for note in told.notes)


@pytest.mark.parametrize("text", ["6205-2RS C3", "6205 ZNR", "6205 LLU NR", "6205ZZNR", "6205 DDUC3"])
def test_joined_suffixes_of_the_trade_are_still_read(text: str) -> None:
    # common practice: a snap ring or clearance is joined to the closure.
    assert explain(text).understood


def test_letters_that_stand_apart_are_not_cut_into_suffixes() -> None:
    # Of all three-letter words behind a sealed bearing, only those the trade joins may change what the bearing is.
    accepted = [
        word
        for word in map("".join, itertools.product(string.ascii_uppercase, repeat=3))
        if explain(f"6205-2RS {word}").understood
    ]
    # 17,576 words: what is left are codes that a suffix table names as they stand.
    assert len(accepted) < 100, accepted


def test_an_unknown_word_is_listed_with_a_hint_and_no_nonsense() -> None:
    rng = random.Random(5)
    for _ in range(200):
        word = "".join(rng.choices("BCFGHJKLQWX", k=4))
        told = explain(f"6205-2RS {word}")
        if told.understood:
            continue
        assert word in told.not_understood
        assert told.closure is not None
        assert not told.suggestions
        assert any("maker" in note for note in told.notes)


@pytest.mark.parametrize("duty", [{"wet"}, {"wet", "hot"}])
def test_fkm_for_nbr_in_water_is_judged(duty: set[str]) -> None:
    # common practice: standard FKM stands oil and heat, not hot water and steam.
    assert compare("35x52x7 NBR", "35x52x7 FKM", duty=frozenset(duty)).outcome == "review"
    assert compare("35x52x7 NBR", "35x52x7 FKM", duty=frozenset({"dry"})).outcome == "suits"
