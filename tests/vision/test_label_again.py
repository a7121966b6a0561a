"""Words read again in other cuts: an engine that reads by script, then a drawn label with its maker's word upright."""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from vision.label_scenes import photograph

from screener.vision.label import read_label
from screener.vision.label_again import UNCLEAR_P, lengthened, settle_makers
from screener.vision.label_crop import strip_of
from screener.vision.text_engine import TextLine, text_engine

QUAD = ((20.0, 20.0), (180.0, 20.0), (180.0, 50.0), (20.0, 50.0))
PAGE = np.full((100, 240, 3), 200, np.uint8)


class Scripted:
    """Reads the crops that it is given as the words of a list, over and over."""

    def __init__(self, *words: str, score: float = 0.97) -> None:
        self.words, self.score = words, score

    def recognise(self, crops: Sequence[NDArray[np.uint8]]) -> list[tuple[str, float]]:
        return [(self.words[n % len(self.words)], self.score) for n in range(len(crops))]


def settled(read: str, *cuts: str) -> tuple[str, bool]:
    lines, unclear = settle_makers(PAGE, [TextLine(read, 0.99, QUAD)], Scripted(*cuts))  # type: ignore[arg-type]
    return lines[0].text, not unclear


def test_a_misspelling_that_every_cut_reads_stays() -> None:
    assert settled("BRENOVK", "BRENOVK") == ("BRENOVK", True)


def test_a_letter_cut_off_comes_back() -> None:
    assert settled("ORSAMI", "ORSAMIL") == ("ORSAMIL", True)


def test_cuts_that_differ_leave_the_word_unclear() -> None:
    assert settled("KEDDUNA", "KEDRUNA", "KEDDRUNA", "KEDDUNA")[1] is False


@pytest.mark.parametrize("text", ["BRENVOK", "6205-2RS C3", "Deep groove ball bearing"])
def test_other_lines_are_not_read_again(text: str) -> None:
    assert settled(text, "SOMETHING ELSE") == (text, True)


def test_letters_at_the_ends_need_two_cuts_that_agree() -> None:
    line = TextLine("ORSAM", 0.99, QUAD)
    assert lengthened(PAGE, line, Scripted("ORSAMIL")).text == "ORSAMIL"  # type: ignore[arg-type]
    assert lengthened(PAGE, line, Scripted("ORSAMIL", "ORSAMI", "ORSAMX", "XORSAM")).text == "ORSAM"  # type: ignore[arg-type]
    assert lengthened(PAGE, line, Scripted("ORSAMIL", score=0.5)).text == "ORSAM"  # type: ignore[arg-type]


def test_a_strip_has_the_room_asked_for() -> None:
    picture = np.zeros((100, 240, 3), np.uint8)
    picture[20:50, 20:180] = 255
    strip = strip_of(picture, QUAD, beside=0.5, above=0.2)
    assert strip.shape == (42, 190, 3)
    assert strip[21, 95].min() == 255
    assert strip[2, 95].max() == strip[21, 5].max() == 0
    assert strip_of(picture, QUAD, height_px=48).shape[0] == 48


def _with_the_word_upright(word: str) -> NDArray[np.uint8]:
    image = Image.new("L", (900, 560), 250)
    band = Image.new("L", (520, 110), 60)
    ImageDraw.Draw(band).text((24, 14), word, fill=250, font=ImageFont.load_default(76))
    image.paste(band.rotate(90, expand=True), (10, 20))
    pen = ImageDraw.Draw(image)
    for y, height, text in (
        (40, 70, "6205-2RS"),
        (180, 36, "Qty: 10 pcs"),
        (260, 36, "Lot: W2611"),
        (340, 36, "Date: 2026-03"),
    ):
        pen.text((180, y), text, fill=20, font=ImageFont.load_default(height))
    return np.asarray(image, np.uint8)


@pytest.mark.parametrize(("word", "tilt_deg"), [("ORSAMIL", 7), ("TALQUIST", -9)])
def test_a_word_that_runs_up_beside_the_label(word: str, tilt_deg: float) -> None:
    seen = read_label(photograph(_with_the_word_upright(word), 3, tilt_deg=tilt_deg), text_engine())
    assert seen is not None
    assert (seen.fields.maker, seen.fields.designation, seen.fields.batch) == (word, "6205-2RS", "W2611")


def test_an_unclear_word_accuses_nobody() -> None:
    # The screening takes what is read with less as a question only.
    from screener.screening.observed import CERTAIN_FROM_P

    assert UNCLEAR_P < CERTAIN_FROM_P
