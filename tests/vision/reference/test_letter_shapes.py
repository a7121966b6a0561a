"""Words written by a general library in one type face and another, in one width and another."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from screener.vision.reference.letter_shapes import fit_word

LETTERS_PX = 26.0


def written(word: str, *, margin: int, wide: float = 1.0, blur: float = 0.0, noise: float = 0.0) -> np.ndarray:
    """A word in Pillow's own type face, evenly lit, with a margin."""
    font = ImageFont.load_default(36)
    left, top, right, bottom = font.getbbox(word)
    sheet = Image.new("L", (int(right - left) + 2 * margin, int(bottom - top) + 2 * margin), 0)
    ImageDraw.Draw(sheet).text((margin - left, margin - top), word, font=font, fill=255)
    ink = np.asarray(sheet, np.float32)
    ink = cv2.resize(ink, (round(ink.shape[1] * wide), ink.shape[0]), interpolation=cv2.INTER_LINEAR)
    ink = cv2.GaussianBlur(ink, (0, 0), blur) if blur else ink
    ink = ink + np.random.default_rng(3).normal(0, noise, ink.shape).astype(np.float32)
    return np.asarray((ink - ink.mean()) / ink.std(), np.float32)


def plotted(word: str, like: np.ndarray, *, margin: int) -> np.ndarray:
    """The word in a plotter's letters (OpenCV), as long and as tall as another picture of it without its margin."""
    (width, height), base = cv2.getTextSize(word, cv2.FONT_HERSHEY_COMPLEX, 2.0, 4)
    ink = np.zeros((height + base, width), np.uint8)
    cv2.putText(ink, word, (0, height), cv2.FONT_HERSHEY_COMPLEX, 2.0, 255, 4, cv2.LINE_AA)
    rows = np.flatnonzero(ink.max(axis=1))
    sized = cv2.resize(ink[rows[0] : rows[-1] + 1], like.shape[::-1], interpolation=cv2.INTER_AREA)
    picture = cv2.copyMakeBorder(sized.astype(np.float32), *[margin] * 4, cv2.BORDER_CONSTANT)
    return np.asarray((picture - picture.mean()) / picture.std(), np.float32)


KNOWN = written("TALQUIST", margin=2)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_same_word_softer_noisier_or_in_another_light_is_the_same(sign):
    fit = fit_word(KNOWN, sign * written("TALQUIST", margin=12, blur=1.2, noise=12), 8)
    assert not fit.other_shapes(LETTERS_PX), fit
    assert not fit.other_length, fit


@pytest.mark.parametrize("wide", [0.86, 1.14])
def test_a_word_set_wider_or_closer_is_measured(wide):
    fit = fit_word(KNOWN, written("TALQUIST", margin=16, wide=wide), 8)
    assert fit.stretch == pytest.approx(wide, abs=0.025)
    assert fit.other_length


def test_other_letter_shapes_of_the_same_length_are_seen():
    fit = fit_word(KNOWN, plotted("TALQUIST", KNOWN, margin=12), 8)
    assert fit.other_shapes(LETTERS_PX), fit


def test_one_other_letter_is_seen_though_the_rest_is_alike():
    fit = fit_word(KNOWN, written("TALQUIST".replace("U", "N"), margin=12), 8)
    assert fit.correlation > fit.least
    assert fit.other_shapes(LETTERS_PX), fit


def test_a_picture_too_small_for_the_word_gives_none():
    assert fit_word(KNOWN, KNOWN[:8, :20].copy(), 8) is None
