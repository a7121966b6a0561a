"""Letters told apart in both cases, against the outlines of a type face that Pillow carries."""

from __future__ import annotations

import string

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from screener.specs.letter_case import in_other_case, told_apart


def outline(letter: str) -> np.ndarray:
    """The letter's ink filling a square of 40 px, as a reader that does not know the line's height sees it."""
    font = ImageFont.load_default(120)
    sheet = Image.new("L", (240, 240), 0)
    ImageDraw.Draw(sheet).text((60, 40), letter, font=font, fill=255)
    return np.asarray(sheet.crop(sheet.getbbox()).resize((40, 40)), np.float64)


def alike(letter: str) -> float:
    return float(np.corrcoef(outline(letter).ravel(), outline(letter.lower()).ravel())[0, 1])


@pytest.mark.parametrize("letter", sorted(told_apart()))
def test_letters_told_apart_have_two_outlines(letter):
    assert alike(letter) < 0.75


def test_letters_that_only_shrink_are_never_told_apart():
    # A capital I fills its square and has no outline to compare.
    same = {letter for letter in string.ascii_uppercase if letter != "I" and alike(letter) > 0.8}
    assert {"O", "S", "V", "W", "X", "Z"} <= same
    assert not same & told_apart()


def test_two_letters_in_the_other_case_are_another_case():
    assert in_other_case("BRENVOK", "Brenvok")
    assert in_other_case("Brenvok", "BRENVOK")
    assert not in_other_case("BRENVOK", "BRENVOK")
    assert not in_other_case("BRENVOK", "BReNVOK")
    assert not in_other_case("BRENVOK", "Brenwok")
