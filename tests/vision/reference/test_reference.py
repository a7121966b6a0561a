"""Drawn packages beside their reference: planted differences are found where they are, good photos raise nothing.

The photographs are drawn by `packages`, which states where each difference was planted; `measure_reference.py` does the
same on many more.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import vision.reference.packages as drawn
from vision.reference.measure_reference import hits, places, reference_of, told

from screener.vision.reference.compare import compare
from screener.vision.reference.elements import free_spans
from screener.vision.reference.panel import find_panel
from screener.vision.reference.registering import NotLaidError, register
from screener.vision.text_engine import text_engine

SEED = 7001


@pytest.fixture(scope="module")
def reference():
    return reference_of(SEED)[1]


@pytest.mark.parametrize("kind", ["text_misspelt", "shifted", "added", "colour", "print", "code_moved"])
def test_a_planted_difference_is_found_where_it_is(reference, kind):
    planted = drawn.plant(drawn.package(SEED, batch_seed=3), kind, SEED + 5)
    shot = drawn.photograph(planted.package, SEED + 11, most_tilt_deg=22)
    result = compare(reference, shot.rgb, text_engine())
    assert any(hits(planted, shot, d) for d in result.differences), told(result)


@pytest.mark.parametrize("turn", [0, 1])
def test_the_same_package_in_another_photo_raises_nothing(reference, turn):
    shot = drawn.photograph(drawn.package(SEED, batch_seed=4 + turn), SEED + 30 + turn)
    result = compare(reference, shot.rgb, text_engine())
    assert result.laid is not None, result.problem
    assert not result.differences, told(result)


def test_a_photo_is_laid_on_its_reference_to_a_fraction_of_a_millimetre(reference):
    pack = drawn.package(SEED)
    kept = drawn.photograph(pack, SEED, easy=True)
    shot = drawn.photograph(pack, SEED + 60)
    laid = register(reference.frame, shot.rgb)
    points = np.random.default_rng(0).uniform((0, 0), reference.frame.size_px, (100, 2))
    in_kept = cv2.perspectiveTransform(points[None], reference.frame.reference_from_frame)
    mm = cv2.perspectiveTransform(in_kept, np.linalg.inv(kept.panel_to_photo))
    seen = cv2.perspectiveTransform(laid.photo_points(points)[None], np.linalg.inv(shot.panel_to_photo))
    # The drawn lens bends by up to a few pixels, which the truth used here leaves out.
    assert float(np.linalg.norm(seen - mm, axis=2).mean()) < 0.15


def test_the_panel_is_found_in_the_reference_photo():
    pack = drawn.package(SEED + 1)
    shot = drawn.photograph(pack, SEED + 1, easy=True)
    mm = np.array([[[0, 0], [pack.width, 0], [pack.width, pack.height], [0, pack.height]]], np.float64)
    true = cv2.perspectiveTransform(mm, shot.panel_to_photo)[0]
    assert float(np.abs(find_panel(shot.rgb) - true).max()) < 0.02 * shot.rgb.shape[1]


def test_another_picture_is_not_laid_and_nothing_is_concluded(reference):
    noise = np.random.default_rng(1).integers(0, 255, (900, 1200, 3)).astype(np.uint8)
    with pytest.raises(NotLaidError):
        register(reference.frame, noise)
    result = compare(reference, noise, text_engine())
    assert result.problem
    assert not result.differences


def test_a_blurred_photo_concludes_nothing(reference):
    shot = drawn.photograph(drawn.package(SEED, batch_seed=2), SEED + 70, most_tilt_deg=5)
    result = compare(reference, cv2.GaussianBlur(shot.rgb, (0, 0), 9), text_engine())
    assert not result.differences, told(result)
    assert result.problem


@pytest.mark.parametrize(
    ("line", "free"),
    [
        # common practice: what follows these words differs from box to box; the designation does not
        ("Batch: H86639", ["H86639"]),
        ("LOT NO: B123", ["B123"]),
        ("Date: 2025-11", ["2025-11"]),
        ("6205-2RS C3", []),
        ("Part no. 6205-2RS", []),
        ("Deep groove ball bearing", []),
        ("Nov 2025", ["Nov", "2025"]),
    ],
)
def test_only_what_differs_from_box_to_box_is_free(line, free):
    assert [line[a:b] for a, b in free_spans(line)] == free


def test_the_makers_word_in_another_case_is_told_with_what_explains_it(reference):
    # common practice: a new logo, or another plant's printing, changes a box as well as a copyist does
    planted = drawn.plant(drawn.package(SEED, batch_seed=3), "maker_case", SEED + 5)
    shot = drawn.photograph(planted.package, SEED + 11, most_tilt_deg=15)
    result = compare(reference, shot.rgb, text_engine())
    (told_of_it,) = [d for d in result.differences if hits(planted, shot, d)]
    assert "another case" in told_of_it.says
    assert "a redesign of the logo" in told_of_it.ordinary_causes
    assert any("another plant" in cause for cause in told_of_it.ordinary_causes)


def test_a_batch_that_is_spelt_like_another_designation_is_free_where_the_product_is_known():
    # common practice: tapered rollers by inch numbers begin with letters (H81057), as batch numbers of many makers do
    assert free_spans("H81057", "6205-2RS C3") == [(0, 6)]
    assert free_spans("6205 C3", "6205-2RS C3") == []


def test_codes_are_placed(reference):
    assert any(e.kind == "code" for e in reference.elements)
    assert places(cv2.cvtColor(reference.frame.rgb, cv2.COLOR_RGB2GRAY))


@pytest.mark.parametrize("other", [1, 2])
def test_a_box_of_another_product_is_not_compared(reference, other):
    shot = drawn.photograph(drawn.package(SEED + 1000 * other), SEED + 80 + other, most_tilt_deg=12)
    result = compare(reference, shot.rgb, text_engine())
    assert not result.differences, told(result)
    assert result.problem
