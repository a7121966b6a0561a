"""The shop's makers file, and words that name a maker, nearly name one, or name none."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import InputUnreadable
from screener.specs.makers import makers, match_maker, spelling_distance

WORDS = st.text("ABCDEIOVWX01", min_size=1, max_size=9)


@pytest.mark.parametrize("text", ["BRENVOK", "brenvok", "made by BRENVOK, Slovakia", "BRENVOK® 6205"])
def test_exact(text: str) -> None:
    match = match_maker(text)
    assert match is not None
    assert match.exact
    assert match.name == "BRENVOK"


@pytest.mark.parametrize(
    "text", ["BRENV0K", "BRFNVOK", "BRENVQK", "BERNVOK", "BRENVOKK", "BRNVOK", "TALQU1ST", "KEDRUMA"]
)
def test_near_but_not_the_word(text: str) -> None:
    match = match_maker(text)
    assert match is not None
    assert not match.exact


def test_a_learnt_misspelling_is_named_as_such() -> None:
    match = match_maker("TALKWIST 6205")
    assert match is not None
    assert (match.kind, match.name, match.text) == ("known_misspelling", "TALQUIST", "TALKWIST")


@pytest.mark.parametrize(
    "text", ["", "6205-2RS", "MADE IN ITALY", "BEARING", "QUANTITY", "BRENNER", "TALON", "*", "é" * 40]
)
def test_unknown_is_none(text: str) -> None:
    assert match_maker(text) is None


@given(WORDS, WORDS)
def test_the_distance_is_one(one: str, other: str) -> None:
    # Laws of an edit distance: zero only for the same word, symmetric, never over the longer length.
    assert (spelling_distance(one, other) == 0) == (one == other)
    assert spelling_distance(one, other) == spelling_distance(other, one)
    assert spelling_distance(one, other) <= max(len(one), len(other))


def test_prefixes_and_fields_of_the_file() -> None:
    known = {maker.word: maker for maker in makers()}
    assert known["BRENVOK"].issued("9521101000012") is True
    assert known["BRENVOK"].issued("09521101000012") is True
    assert known["BRENVOK"].issued("4012345678901") is False
    assert known["VELMORT"].issued("4012345678901") is None
    assert "batch" in known["ORSAMIL"].label_always


def test_no_maker_of_the_file_is_near_another() -> None:
    words = [maker.word for maker in makers()]
    assert all(spelling_distance(one, other) > 2 for one in words for other in words if one != other)


@pytest.mark.parametrize(
    "text", ["[[maker]]\nalso = []", "[[maker]]\nword='A'\nalso='B'", "[[maker]]\nword='A'\nserial_pattern='('", "= ="]
)
def test_a_broken_file_is_told_in_words(tmp_path: Path, text: str) -> None:
    file = tmp_path / "makers.toml"
    file.write_text(text)
    with pytest.raises(InputUnreadable) as caught:
        makers(file)
    assert str(file) in str(caught.value)


def test_a_shop_may_keep_its_own_file(tmp_path: Path) -> None:
    file = tmp_path / "makers.toml"
    file.write_text('[[maker]]\nword = "Quorvex"\n')
    match = match_maker("QUORVEX 608", makers(file))
    assert match is not None
    assert match.exact
