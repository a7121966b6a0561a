"""Knowing a picture again. The truth is made here: a copy is made from the picture, other photos are other shots."""

from __future__ import annotations

import base64
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pytest
from vision.measure_fingerprint import cropped

from screener.vision.fingerprint import fingerprint, likeness

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
