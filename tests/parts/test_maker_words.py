"""Makers' words beside a designation are no suffixes. The makers here are invented; they ship in makers.toml."""

from __future__ import annotations

import itertools
import random
import string

import pytest

from screener.parts import compare, explain, find_in_text
from screener.parts.families import families
from screener.parts.tail import cut


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


@pytest.mark.parametrize("line", ["6205 BRENVOK 2RS C3", "brenvok 6205 2RS C3", "6205 2RS C3, BRENVOCK"])
def test_a_known_makers_word_in_a_line_is_noted_and_read_past(line: str) -> None:
    (found,) = find_in_text(line)
    assert (found.explained.basic, found.explained.clearance) == ("6205", "C3")
    assert found.explained.closure == explain("6205 2RS").closure
    assert any("BREN" in note for note in found.explained.notes)


def test_a_misspelt_makers_word_is_called_so() -> None:
    assert any("misspelling" in note for note in explain("6205 TALKWIST").notes)


def test_words_of_four_to_eight_letters_are_never_cut_into_cages_and_greases() -> None:
    """Only a closure first, then ring, cage, clearance, grease: no word that begins otherwise may be read as codes."""
    family, rng = families()["dgb"], random.Random(7)
    letters = "ABCDEFGHJKLMNPRSTUVYZ"
    accepted = []
    for length in (4, 5, 6, 8):
        for _ in range(8_000):
            word = "".join(rng.choices(letters, k=length))
            codes = [code for _, code in cut(word, family.scope, family.groups)]
            if len(codes) > 1 and all(codes) and explain(f"6205 {word}").understood:
                accepted.append((word, codes[0].main.group))
    assert all(group.startswith("closure") for _, group in accepted), accepted
    assert len(accepted) <= 32, accepted


@pytest.mark.parametrize(
    "text",
    ["NU205 ECP", "22210 CCK", "22210 EKM", "NJ2206 ETVP", "7205 BECBP", "1206 EKTN9", "NN3010 KSP", "22210 KMB"],
)
def test_letters_that_roller_and_angular_bearings_join_are_read(text: str) -> None:
    # Spellings of printed bearing lists; joined letters are the rule there (common practice).
    assert explain(text).understood


@pytest.mark.parametrize(
    ("need", "offered", "duty", "outcome"),
    [
        ("35x52x7 NBR", "35x52x7 HNBR", "wet", "suits"),
        ("35x52x7 NBR", "35x52x7 FKM", "dirty", "suits"),
        ("35x52x7 NBR", "35x52x7 FKM", "hot oil", "suits"),
        ("35x52x7 NBR", "35x52x7 ACM", "wet", "wrong"),
        ("35x52x7 NBR", "35x52x7 ACM", "", "review"),
        ("35x52x7 NBR", "35x52x7 VMQ", "wet", "review"),
        ("35x52x7 NBR", "35x52x7 EPDM", "wet", "wrong"),
        ("35x52x7 EPDM", "35x52x7 FKM", "wet", "wrong"),
        ("35x52x7 FKM", "35x52x7 NBR", "wet hot", "wrong"),
        ("35x52x7", "35x52x7 FKM", "wet", "review"),
        ("35x52x7", "35x52x7 NBR", "wet", "suits"),
    ],
)
def test_rubbers_in_water(need: str, offered: str, duty: str, outcome: str) -> None:
    # common practice: polyacrylate and polyester urethane break down in water; EPDM swells in the grease behind it.
    assert compare(need, offered, duty=frozenset(duty.split())).outcome == outcome
