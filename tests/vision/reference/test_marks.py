"""Marks beside a reference ring: the same letters under another light are alike, a wider setting is seen.

The rings are drawn by `drawn_marks`; the words are given as a perfect reading would, so that only shapes are judged.
"""

from __future__ import annotations

import numpy as np
import pytest
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.vision.marks.face_strip import straighten_face
from screener.vision.model import Mark
from screener.vision.reference.marks import Ring, compare_rings, rings_as_compared


def ring(at_deg: float, *, pitch: float = 1.1, seed: int = 1, radius_px: float = 380.0, strength: float = 0.9) -> Ring:
    face = DrawnFace((DrawnMark("BRENVOK", at_deg),), pitch=pitch, seed=seed, radius_px=radius_px, strength=strength)
    gray, outer, bore = draw(face)
    strip = straighten_face(gray, outer, bore)
    columns = strip.levels.shape[1]
    middle = (1.02 - face.text_radius) * strip.radius_rows
    length = 7 * 0.8 * face.text_height * face.pitch / (face.text_radius * 2 * np.pi) * columns
    x0 = at_deg / 360 * columns
    half = 0.75 * face.text_height * strip.radius_rows
    region = strip.photo_region(x0, middle - half, x0 + length, middle + half)
    return Ring(gray, outer, bore, (Mark("BRENVOK", "ring", 0.95, region),))


def test_the_same_letters_under_another_light_are_alike():
    compared = compare_rings(ring(30), ring(140, seed=8, radius_px=350, strength=0.7))
    assert [w.text for w in compared.words] == ["BRENVOK"]
    assert not compared.words[0].differs, compared


def test_a_wider_setting_is_seen():
    compared = compare_rings(ring(30), ring(140, pitch=1.32, seed=8, radius_px=350))
    assert compared.words[0].differs, compared
    told = rings_as_compared(compared).differences
    assert [d.kind for d in told] == ["mark_shapes_differ"]
    assert told[0].outline_photo_px


@pytest.mark.parametrize("radius_px", [90.0])
def test_letters_too_small_conclude_nothing(radius_px):
    compared = compare_rings(ring(30), ring(140, radius_px=radius_px))
    assert not compared.words
    assert compared.problem
