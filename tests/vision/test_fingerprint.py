"""Knowing a picture again. The truth is made here: a copy is made from the picture, other photos are other shots."""

from __future__ import annotations

import base64
import struct
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pytest
from drawing.random_scenes import random_spec
from vision.measure_fingerprint import LEFT, _drawn, brighter, cropped, seen, tilted

from screener.vision.fingerprint import descriptors, fingerprint, likeness
from screener.vision.model import Ellipse

PHOTOS = sorted((Path(__file__).parents[2] / "samples" / "photos").rglob("*.jpg"))[:18:2]


def gray(path: Path) -> np.ndarray:
    return np.asarray(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE))


def saved(picture: np.ndarray, quality: int) -> np.ndarray:
    _, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE))


COPIES = {
    "saved as JPEG 30": lambda g: saved(g, 30),
    "half size, saved again": lambda g: saved(cv2.resize(g, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), 60),
    "turned by 90": lambda g: np.ascontiguousarray(np.rot90(g)),
    "turned by 180": lambda g: np.ascontiguousarray(np.rot90(g, 2)),
    "70 % kept, saved again": lambda g: saved(cropped(g, 0.3), 60),
    "60 % kept, turned, saved again": lambda g: saved(np.rot90(cropped(g, 0.4)), 50),
}


@pytest.mark.parametrize("copy", COPIES.values(), ids=COPIES)
def test_a_copy_is_known_again(copy):
    known = [likeness(fingerprint(g), fingerprint(copy(g))).same_picture for g in map(gray, PHOTOS)]
    assert sum(known) >= len(known) - 1


@pytest.mark.parametrize("left", LEFT.values(), ids=LEFT)
@pytest.mark.parametrize(("degrees", "scale"), [(1, 1.0), (4, 0.96), (-4, 1.0), (15, 0.96)])
def test_a_copy_turned_a_little_is_known_again(degrees, scale, left):
    """Whatever the turn left at the corners: black, white, or nothing as they were cut away."""
    known = [
        likeness(fingerprint(g), fingerprint(tilted(g, degrees, left, scale))).same_picture for g in map(gray, PHOTOS)
    ]
    assert sum(known) >= len(known) - 1


def test_a_frame_around_a_copy_does_not_hide_it():
    framed = [cv2.copyMakeBorder(g, 60, 60, 90, 90, cv2.BORDER_CONSTANT, value=255) for g in map(gray, PHOTOS)]
    known = [likeness(fingerprint(gray(p)), fingerprint(f)).same_picture for p, f in zip(PHOTOS, framed, strict=True)]
    assert sum(known) >= len(known) - 1


def test_two_photos_that_share_the_scale_card_alone_are_not_one_picture_when_turned():
    folder = Path(__file__).parents[2] / "samples" / "photos"
    one, other = gray(folder / "04" / "spring_side.jpg"), gray(folder / "06" / "face_2.jpg")
    for degrees in (1, 2, 7):
        assert not likeness(fingerprint(other), fingerprint(tilted(one, degrees, 0))).same_picture
        assert not likeness(fingerprint(one), fingerprint(tilted(other, degrees, 0))).same_picture


def test_different_photos_are_not_one_picture():
    prints = [fingerprint(gray(p)) for p in PHOTOS]
    assert not any(likeness(a, b).same_picture for a, b in combinations(prints, 2))


def test_different_photos_are_told_apart_before_the_costly_step(monkeypatch):
    """Refining is most of a comparison's time: photos that share only the scale card must not reach it."""
    prints = [fingerprint(gray(p)) for p in PHOTOS]
    refined, whole = [], cv2.findTransformECC
    monkeypatch.setattr(cv2, "findTransformECC", lambda *given: refined.append(1) or whole(*given))
    pairs = list(combinations(prints, 2))
    assert not any(likeness(a, b).same_picture for a, b in pairs)
    assert len(refined) <= len(pairs) // 10
    assert likeness(prints[0], prints[0]).same_picture
    assert refined  # A copy is still refined: the step was not cut out.


def test_a_bent_picture_is_another_shot():
    """A pinhole camera tilted by 1.5 degrees maps a plane by K R K^-1 (Hartley and Zisserman, ch. 8.4)."""
    for picture in map(gray, PHOTOS):
        height, width = picture.shape
        lens = np.array([[1.2 * width, 0, width / 2], [0, 1.2 * width, height / 2], [0, 0, 1]])
        turn, _ = cv2.Rodrigues(np.radians([1.5, 1.0, 0.0]))
        seen = cv2.warpPerspective(picture, lens @ turn @ np.linalg.inv(lens), (width, height), flags=cv2.INTER_CUBIC)
        assert not likeness(fingerprint(picture), fingerprint(seen)).same_picture


def test_a_fingerprint_is_small_and_a_plain_wall_has_none():
    assert all(len(base64.b64decode(fingerprint(gray(p)))) < 16384 for p in PHOTOS)
    assert fingerprint(np.full((300, 400), 128, np.uint8)) == ""


@pytest.mark.parametrize("text", ["", "no base64!", "AAAA", "eJwDAAAAAAE="])
def test_a_damaged_fingerprint_is_like_nothing(text):
    assert not likeness(text, fingerprint(gray(PHOTOS[0]))).same_picture


def shot(seed: int) -> tuple[np.ndarray, Ellipse]:
    """Two exposures share bench, card, light and place; the ring's small marks all around are each part's own."""
    bench = np.random.default_rng(7)
    scene = cv2.GaussianBlur(bench.normal(0, 40, (600, 800)), (0, 0), 3) + 120
    for x, y in bench.integers((20, 20), (300, 560), (40, 2)):
        cv2.rectangle(scene, (int(x), int(y)), (int(x) + 14, int(y) + 9), 30.0, -1)
    y, x = np.mgrid[:600, :800]
    radius, angle = np.hypot(x - 550, y - 300), np.arctan2(y - 300, x - 550)
    ring = (radius > 110) & (radius < 200)
    scene[ring] = (130 + 70 * np.cos(2 * angle) + 25 * np.sin(radius / 4))[ring]
    for mark in np.random.default_rng(seed).uniform(0, 2 * np.pi, 40):
        cv2.circle(scene, (round(550 + 155 * np.cos(mark)), round(300 + 155 * np.sin(mark))), 2, 80.0, -1)
    noisy = scene + np.random.default_rng(seed + 100).normal(0, 2, scene.shape)
    return saved(np.clip(noisy, 0, 255).astype(np.uint8), 85), Ellipse(550, 300, 200, 200, 0)


@pytest.mark.parametrize("seed", [1, 3, 5])
def test_another_part_under_an_unmoved_camera_is_another_picture(seed: int):
    """Marks and noise are drawn anew for the second part; bench, card, light and place stay."""
    (one, part), (other, _) = shot(seed), shot(seed + 1)
    assert likeness(fingerprint(one), fingerprint(other)).same_picture, "where the part is, nobody said"
    found = likeness(fingerprint(one, part), fingerprint(other, part))
    assert (found.same_picture, found.another_part) == (False, True)
    again = saved(cv2.resize(one, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA), 50)
    assert likeness(fingerprint(one, part), fingerprint(again)).same_picture, "a copy of the same exposure"


def test_copies_stay_copies_wherever_a_part_is_said_to_be():
    """A copy is the same exposure everywhere: whatever outline is given, nothing in it is another part."""
    for number, picture in enumerate(map(gray, PHOTOS[::3])):
        height, width = picture.shape
        part = Ellipse(width * (0.4 + 0.02 * number), height / 2, height / 3, height / 4, 20.0 * number)
        for copy in (saved(picture, 30), COPIES["half size, saved again"](picture), brighter(picture)):
            assert likeness(fingerprint(picture, part), fingerprint(copy)).same_picture


def test_a_fingerprint_made_before_parts_were_kept_is_still_known():
    """Version 2 had no outline: its head, then the picture. Written here as it was written then."""
    new = base64.b64decode(fingerprint(gray(PHOTOS[0])))
    head, outline = struct.calcsize("<BHHHB"), struct.calcsize("<5H")
    old = base64.b64encode(b"\x02" + new[1:head] + new[head + outline :]).decode()
    assert likeness(old, fingerprint(saved(gray(PHOTOS[0]), 40))).same_picture
    assert len(descriptors(old)) == len(descriptors(fingerprint(gray(PHOTOS[0]))))


def test_photos_that_share_a_large_scale_card_are_not_one_picture():
    """Drawn scenes of two benches and parts: the card beside them is the only thing that both show."""
    scenes = [random_spec(np.random.default_rng(seed)) for seed in (61000, 61035)]
    prints = [seen(_drawn(spec, seed)) for spec, seed in zip(scenes, (61000, 61035), strict=True)]
    assert not likeness(*prints).same_picture
