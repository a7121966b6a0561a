"""Colours of a label: the same print under another light is the same colour; without white none is told.

What a colour is in CIELAB is taken from scikit-image (rgb2lab, D65).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from audit.batch.drawn_labels import LAYOUTS, designation_quad, label_photo
from skimage.color import deltaE_ciede2000, rgb2lab

from screener.vision.card import find_card
from screener.vision.card_print import draw_page
from screener.vision.label_colour import label_colours, white_of_card
from screener.vision.model import ColourSeen, LabelColours
from screener.vision.photo import Photo

BLUE, RED = LAYOUTS[0].band_rgb, (150, 28, 30)
PAPER = 0.86


def seen(seed: int, **print_: object) -> LabelColours:
    layout = replace(LAYOUTS[0], **print_)
    photo, corners = label_photo(seed, layout)
    outline = [(float(x), float(y)) for x, y in corners + 0.05 * (corners.mean(axis=0) - corners)]
    return label_colours(photo, [outline], designation_quad(corners))


def lab(colour: ColourSeen | None) -> np.ndarray:
    assert colour is not None
    return np.array([colour.lightness, colour.green_red, colour.blue_yellow])


def on_paper(rgb: tuple[int, int, int]) -> np.ndarray:
    """What a print is by white paper: both as drawn (power 2.2), the paper taken for 86 %."""
    share = PAPER * (np.array(rgb) / np.array(LAYOUTS[0].paper_rgb)) ** 2.2
    coded = np.where(share <= 0.0031308, 12.92 * share, 1.055 * share ** (1 / 2.4) - 0.055)
    return np.asarray(rgb2lab(coded[None, None])[0, 0])


@pytest.mark.parametrize("rgb", [BLUE, RED])
def test_another_light_is_no_other_colour_and_the_colour_is_the_prints(rgb: tuple[int, int, int]) -> None:
    told = [seen(seed, band_rgb=rgb) for seed in (1, 2, 3)]
    colours = np.array([lab(each.print) for each in told])
    assert all(each.white == "label" for each in told)
    assert deltaE_ciede2000(colours, np.tile(np.median(colours, axis=0), (3, 1))).max() < 2.5
    assert deltaE_ciede2000(np.median(colours, axis=0), on_paper(rgb)) < 4.6


def test_ink_is_told_by_the_paper_around_it() -> None:
    black, blue = lab(seen(4).ink), lab(seen(4, ink_rgb=(30, 50, 130)).ink)
    assert np.hypot(*black[1:]) < 6
    assert deltaE_ciede2000(blue, on_paper((30, 50, 130))) < deltaE_ciede2000(black, on_paper((30, 50, 130))) - 8


def test_without_white_no_colour_is_told() -> None:
    photo, corners = label_photo(5, replace(LAYOUTS[0], paper_rgb=(214, 150, 60)))
    outline = [(float(x), float(y)) for x, y in corners]
    bare = label_colours(photo, [outline], None)
    assert (bare.white, bare.print, bare.ink) == (None, None, None)
    assert "no white paper" in bare.problem
    by_card = label_colours(photo, [outline], None, np.array([0.7, 0.65, 0.6]))
    assert by_card.white == "card"
    assert by_card.print is not None
    assert by_card.print.u >= 4, "the card lies under other light: its word counts less"
    photo, corners = label_photo(6)
    burnt = np.where(photo > 120, 255, photo).astype(np.uint8)
    told = label_colours(burnt, [[(float(x), float(y)) for x, y in corners]], None)
    assert (told.white, told.problem) == (None, "the white is burnt out in the photo")


def test_the_white_of_the_printed_card_is_its_paper() -> None:
    """The page as `screener card` prints it, seen under a warm lamp: its light is that of the lamp."""
    page = np.asarray(draw_page().convert("L"))[::5, ::5]
    lamp = np.array([235, 214, 180], np.uint8)
    rgb = np.where(page[..., None] > 127, lamp, np.uint8(12))
    card = find_card(Photo("page", "0" * 64, rgb))
    assert card is not None
    white = white_of_card(rgb, card)
    level = lamp / 255
    assert white == pytest.approx(((level + 0.055) / 1.055) ** 2.4, rel=0.01), "IEC 61966-2-1"
