"""Photo quality. Oracle for blur: pictures blurred by a known Gaussian (scipy.ndimage) or a known motion."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from screener.vision.model import Ellipse, PartSeen
from screener.vision.photo import Photo, open_photo
from screener.vision.quality import blur_px, part_problems, photo_problems

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
OUTER = Ellipse(400, 300, 240, 230, 10)


def drawn(level: float = 1.0, *, outer: Ellipse = OUTER) -> np.ndarray:
    """A ring on a bench, anti-aliased by drawing four times too large; float 0 to 255."""
    big = np.full((2400, 3200), 120.0, np.float32)
    centre = (round(outer.cx * 4 + 1.5), round(outer.cy * 4 + 1.5))
    for share, shade in [(1.0, 190.0), (0.8, 60.0), (0.6, 180.0), (0.4, 90.0)]:
        axes = (round(outer.a * share * 4), round(outer.b * share * 4))
        cv2.ellipse(big, centre, axes, outer.angle_deg, 0, 360, shade, -1)
    small = cv2.resize(big, (800, 600), interpolation=cv2.INTER_AREA)
    return small * level


def as_photo(gray: np.ndarray, seed: int = 0) -> Photo:
    noisy = gray + np.random.default_rng(seed).normal(0, 1.5, gray.shape)
    pixels = np.clip(noisy, 0, 255).astype(np.uint8)
    return Photo("drawn", "0" * 64, np.repeat(pixels[:, :, None], 3, axis=2))


def codes(photo: Photo, outer: Ellipse | None = OUTER) -> list[str]:
    return [problem.code for problem in photo_problems(photo, outer)]


@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.0, 3.0])
def test_blur_is_measured(sigma):
    measured = blur_px(as_photo(gaussian_filter(drawn(), sigma)).gray)
    assert measured == pytest.approx(sigma, rel=0.25)


def test_motion_counts_although_some_edges_stay_sharp():
    kernel = np.zeros((15, 15), np.float32)
    kernel[7] = 1 / 15
    assert blur_px(as_photo(cv2.filter2D(drawn(), -1, kernel)).gray) > 2.0


def test_an_ordinary_photo_has_no_problem():
    assert codes(as_photo(drawn())) == []
    assert codes(as_photo(drawn()), None) == []


def test_blurred():
    photo = as_photo(gaussian_filter(drawn(), 4.0))
    assert codes(photo) == ["blurred"]
    assert codes(photo, None) == ["blurred"]


def test_dark_photo_but_not_a_dark_part_on_a_lit_bench():
    assert "dark" in codes(as_photo(drawn(0.15)))
    assert "dark" in codes(as_photo(drawn(0.15)), None)
    rubber = drawn()
    inside = np.zeros(rubber.shape, np.uint8)
    cv2.ellipse(inside, (400, 300), (240, 230), 10, 0, 360, 1, -1)
    rubber[inside > 0] = 18
    assert "dark" not in codes(as_photo(rubber))


def test_glare():
    shining = drawn()
    shining[:, 400:] = 255
    assert "glare" in codes(as_photo(shining))
    problem = next(p for p in photo_problems(as_photo(shining), OUTER) if p.code == "glare")
    assert "tilt the lamp" in problem.says


def test_too_far_says_how_high_the_letters_are():
    small = Ellipse(400, 300, 80, 78, 0)
    problem = next(p for p in photo_problems(as_photo(drawn(outer=small)), small) if p.code == "too_far")
    assert "6 px high" in problem.says
    assert "closer" in problem.says


@pytest.mark.parametrize(
    "outer",
    [
        Ellipse(200, 300, 240, 230, 0),
        Ellipse(400, 200, 240, 230, 0),
        Ellipse(650, 300, 240, 100, 10),
        Ellipse(400, 480, 240, 100, 90),
    ],
)
def test_cut_off(outer):
    assert "cut_off" in codes(as_photo(drawn()), outer)


def seen(capitals_px: float | None, burnt: float = 0.0, outer: Ellipse = OUTER) -> PartSeen:
    return PartSeen("bearing", outer, capitals_px=capitals_px, mark_burnt=burnt)


def test_letters_that_were_seen_and_are_low_ask_for_a_closer_photo():
    """Capitals under about 14 px are read by nobody (measured on real photos)."""
    (problem,) = part_problems(as_photo(drawn()), seen(9.2))
    assert not part_problems(as_photo(drawn()), seen(3.0)), "grain, not letters"
    assert problem.code == "letters_low"
    assert problem.says.startswith("Closer")
    assert "9 px" in problem.says
    assert not part_problems(as_photo(drawn()), seen(15.0))


def test_where_no_letters_were_seen_none_are_called_low():
    assert not part_problems(as_photo(drawn()), seen(None))


def test_the_height_seen_stands_in_place_of_the_usual_one():
    small = Ellipse(400, 300, 80, 78, 0)
    photo = as_photo(drawn(outer=small))
    assert [p.code for p in part_problems(photo, seen(None, outer=small))] == ["too_far"]
    assert [p.code for p in part_problems(photo, seen(8.0, outer=small))] == ["letters_low"]
    assert not part_problems(photo, seen(16.0, outer=small))


def test_glare_over_the_mark_alone_asks_to_tilt_the_lamp():
    (problem,) = part_problems(as_photo(drawn()), seen(20.0, 0.4))
    assert problem.code == "glare_on_mark"
    assert "tilt the lamp" in problem.says
    shining = drawn()
    shining[:, 400:] = 255
    assert [p.code for p in part_problems(as_photo(shining), seen(20.0, 0.4))].count("glare_on_mark") == 0


def test_every_problem_says_what_to_do():
    worst = as_photo(gaussian_filter(drawn(0.12), 6.0))
    for problem in photo_problems(worst, Ellipse(20, 20, 60, 60, 0)):
        assert ":" in problem.says or ". " in problem.says
        assert problem.says.endswith(".")


@pytest.mark.skipif(not PHOTOS.is_dir(), reason="the labelled photos are not part of the product")
def test_labelled_photos():
    """Blur in the labels' own unit, and few false alarms on photos whose labels say that nothing is wrong."""
    difference, false_alarms, ordinary = [], 0, 0
    for label_file in sorted(PHOTOS.glob("*.json")):
        label = json.loads(label_file.read_text())
        e = label["ellipses_px"]["od_full"]
        outer = Ellipse(e["cx"], e["cy"], e["a"], e["b"], e["angle_deg"])
        photo = open_photo(label_file.with_suffix(".jpg"))
        found = set(codes(photo, outer))
        assert ("cut_off" in found) <= (not label["fully_in_view"])
        if label["blur_px"] > 1:
            difference.append(blur_px(photo.gray) - label["blur_px"])
        if label["blur_px"] < 1 and label["motion_px"] < 3 and label["text_height_px"] > 16:
            ordinary += 1
            false_alarms += bool(found - {"glare"})
    assert abs(np.median(difference)) < 0.5
    assert ordinary > 10
    assert false_alarms == 0
