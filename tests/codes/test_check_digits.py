"""Check digits against published examples and against biip, which computes them on its own."""

import pytest
from biip.checksums import gs1_standard_check_digit
from hypothesis import given
from hypothesis import strategies as st

from screener.codes.check_digits import (
    check_pair_holds,
    expand_upc_e,
    gs1_check_digit,
    gs1_check_pair,
    gs1_number_holds,
    gtin_holds,
)


@pytest.mark.parametrize(
    ("payload", "digit"),
    [
        ("629104150021", 3),  # example on the page of a GS1 member organisation about check digits
        ("730001100001", 7),  # another member organisation's page
        ("890400021003", 7),  # a third one's page
    ],
)
def test_published_examples(payload: str, digit: int) -> None:
    assert gs1_check_digit(payload) == digit


@given(st.text("0123456789", min_size=1, max_size=30))
def test_the_same_as_biip(payload: str) -> None:
    # Oracle: biip.checksums, the arithmetic of a general GS1 library.
    assert gs1_check_digit(payload) == gs1_standard_check_digit(payload)


@given(st.text("0123456789", min_size=7, max_size=13), st.integers(0, 12), st.integers(1, 9))
def test_every_single_wrong_digit_is_found(payload: str, place: int, shift: int) -> None:
    # Law of weights 3 and 1 modulo 10: both are prime to 10, so one changed digit always changes the sum.
    number = payload + str(gs1_check_digit(payload))
    place %= len(number)
    wrong = number[:place] + str((int(number[place]) + shift) % 10) + number[place + 1 :]
    assert gs1_number_holds(number)
    assert not gs1_number_holds(wrong)


def test_lengths_and_foreign_digits() -> None:
    assert gtin_holds("9506000134352")  # GS1's own example company
    assert not gtin_holds("950600013435")
    assert not gtin_holds("٩٥٠٦٠٠٠١٣٤٣٥٢")
    with pytest.raises(ValueError, match="12a"):
        gs1_check_digit("12a")


def test_check_pair_of_a_model_number() -> None:
    # GS1 General Specifications 7.9.5: the worked example of the check character pair for a GMN.
    assert gs1_check_pair("1987654Ad4X4bL5ttr2310c") == "2K"
    assert check_pair_holds("1987654Ad4X4bL5ttr2310c2K")
    assert not check_pair_holds("1987654Ad4X4bL5ttr2310c2L")
    assert gs1_check_pair("é") is None


@pytest.mark.parametrize(
    ("short", "long"),
    [("04252614", "042100005264"), ("01234565", "012345000065")],  # from memory: common worked examples of UPC-E
)
def test_upc_e_is_expanded(short: str, long: str) -> None:
    assert expand_upc_e(short) == long
    assert gtin_holds(long)


def test_what_is_no_upc_e() -> None:
    assert expand_upc_e("94252614") is None
    assert expand_upc_e("0425261") is None
