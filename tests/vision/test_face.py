"""Faces. Drawn here: flat rings with known build, so that each argument of the clue table is tried by itself.

The labelled photos are independent pictures: the table of clues is set by argument and was checked on them, not fitted.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import cv2
import numpy as np
import pytest

from screener.vision import face as face_module
from screener.vision.face import DISPUTED, NEVER_SURER, judge, see_face
from screener.vision.face_features import HEIGHT, NAMES, WIDTH, measure_strip
from screener.vision.model import Ellipse
from screener.vision.photo import Photo, open_photo

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
OUTER, BORE = Ellipse(320, 240, 200, 190, 20), Ellipse(320, 240, 86, 81.7, 20)
STEEL, BENCH = (0.55, 0.55, 0.54), (0.25, 0.2, 0.15)
BLACK, BLUE = (0.03, 0.03, 0.03), (0.03, 0.09, 0.3)

Light = tuple[float, float, float]


def strip_of(band: Light, *, balls: int = 0, cage: Light | None = None, tint: Light = (1, 1, 1)) -> np.ndarray:
    """Straight ring: steel faces, a slit, and between them a closure of one colour or balls in a cage."""
    t = np.linspace(0, 1, HEIGHT)[:, None]
    angle = np.linspace(0, 2 * np.pi, WIDTH, endpoint=False)[None, :]
    lamp = 1 + 0.25 * np.cos(angle - 1.0)
    rgb = np.zeros((HEIGHT, WIDTH, 3)) + np.array(STEEL)
    middle = np.broadcast_to((t > 0.27) & (t < 0.66), (HEIGHT, WIDTH))
    rgb[middle] = band
    if balls:
        across = np.cos(balls * angle) + 0 * t
        ball = middle & (across > 0.1)
        rgb[middle] = cage or (0.3, 0.3, 0.3)
        shade = np.clip((across - 0.1) * 0.9, 0.05, 0.8) + 0 * t
        rgb[ball] = (np.array(STEEL) * shade[..., None])[ball]
    rgb[np.broadcast_to((t > 0.66) & (t < 0.7), (HEIGHT, WIDTH))] = 0.01
    rgb = rgb * lamp[..., None] * np.array(tint)
    noisy = np.clip(rgb, 0, 1) ** (1 / 2.2) * 255 + np.random.default_rng(2).normal(0, 2, rgb.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)


def bench(tint: Light = (1, 1, 1)) -> np.ndarray:
    pixels = (np.clip(np.array(BENCH) * np.array(tint), 0, 1) ** (1 / 2.2) * 255).astype(np.uint8)
    return np.tile(pixels, (400, 1))


def judged(strip: np.ndarray, tint: Light = (1, 1, 1), bore_to_od: float = 0.43) -> face_module.FaceSeen:
    return judge(measure_strip(strip, bench(tint), bore_to_od), width_px=100)


LAMPS = [(1, 1, 1), (1.3, 1.0, 0.6), (0.8, 1.0, 1.25), (0.3, 0.3, 0.3)]


@pytest.mark.parametrize("tint", LAMPS)
@pytest.mark.parametrize(
    ("band", "closure", "colour"),
    [(STEEL, "shield", None), (BLACK, "rubber_seal", "black"), (BLUE, "rubber_seal", "blue")],
)
def test_closed_faces_under_any_lamp(band, closure, colour, tint):
    seen = judged(strip_of(band, tint=tint), tint)
    assert (seen.kind, seen.closure.value, seen.rubber_colour) == ("bearing", closure, colour)
    assert seen.closure.p > 0.9
    assert seen.ball_count is None


CAGES = {
    (0.3, 0.3, 0.3): "steel",
    (0.02, 0.02, 0.02): "polymer",
    (0.02, 0.15, 0.04): "polymer",
    (0.4, 0.25, 0.08): "brass",
    BLUE: "polymer",
}
"""Linear colour of a cage and what such a cage is made of (common practice)."""


@pytest.mark.parametrize("balls", [7, 9, 14])
@pytest.mark.parametrize("cage", CAGES)
def test_balls_win_over_the_colour_of_their_cage(cage, balls):
    seen = judged(strip_of(STEEL, balls=balls, cage=cage))
    assert seen.closure.value == "open"
    assert seen.ball_count == balls
    assert seen.rubber_colour is None
    assert seen.cage is not None
    # Without colour, dark between shining balls may be steel in shade or black plastic.
    assert seen.cage.value == CAGES[cage] or (max(cage) < 3 * min(cage) and seen.cage.p < 0.9)
    assert seen.cage.value != "brass" or CAGES[cage] == "brass"


def test_lettering_on_rubber_is_not_balls():
    strip = strip_of(BLACK)
    for start, word in [(30, "KEDRUNA"), (200, "6205-2RS"), (400, "14F233 C3")]:
        cv2.putText(strip, word, (start, 26), cv2.FONT_HERSHEY_SIMPLEX, 0.45, (160, 160, 160), 1)
    assert judged(strip).closure.value == "rubber_seal"


def test_a_doubtful_face_is_not_sure():
    """Half as bright as steel and without colour: neither argument is strong."""
    dull = judged(strip_of((0.17, 0.17, 0.17)))
    assert dull.closure.p < 0.9


def test_probabilities_add_up_and_keep_their_ceiling():
    for strip in (strip_of(STEEL), strip_of(BLUE), strip_of(STEEL, balls=9)):
        seen = judged(strip)
        assert sum(seen.closure_p.values()) == pytest.approx(1)
        assert max(seen.closure.p, seen.kind_p, seen.lip_face.p) <= NEVER_SURER


def test_a_dispute_lowers_the_ceiling():
    assert face_module._admit(0.99, [3.0, 2.0, -2.0]) == DISPUTED
    assert face_module._admit(0.99, [3.0, 2.0, -0.5]) == NEVER_SURER
    assert face_module._admit(0.6, [3.0, -2.0]) == 0.6


def seal_strip(*, spring: bool) -> np.ndarray:
    """A black shaft seal: one smooth face, or channel, spring and lip."""
    t = np.linspace(0, 1, HEIGHT)[:, None] + np.zeros((1, WIDTH))
    light = np.full(t.shape, 0.03)
    if spring:
        light[t > 0.3] = 0.004
        coils = 0.15 + 0.1 * np.sign(np.cos(np.arange(WIDTH) * 2 * math.pi / 6))[None, :]
        light = np.where((t > 0.6) & (t < 0.68), coils, light)
        light[t > 0.68] = 0.02
        light[t > 0.85] = 0.004
    else:
        light[t > 0.88] = 0.012
    rgb = np.repeat(light[..., None], 3, axis=2) ** (1 / 2.2) * 255
    return np.clip(rgb + np.random.default_rng(4).normal(0, 1, rgb.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("spring", "word"), [(True, "spring_side"), (False, "back")])
def test_faces_of_a_shaft_seal(spring, word):
    seen = judged(seal_strip(spring=spring), bore_to_od=0.66)
    assert seen.kind == "shaft_seal"
    assert seen.lip_face.value == word
    assert seen.lip_face.p > 0.8
    assert seen.rubber_colour == "black"
    assert seen.garter_spring is not None
    assert (seen.garter_spring.value == "seen") == bool(spring)


def test_too_few_pixels_show_nothing():
    seen = judge(measure_strip(strip_of(STEEL), bench(), 0.43), width_px=6)
    assert seen.closure.value == "not_seen"
    assert seen.lip_face.value == "not_seen"


def test_every_clue_names_a_feature_and_a_reason():
    import tomllib

    table = tomllib.loads(Path(face_module.__file__).with_name("face_clues.toml").read_text())
    clues = [clue for entry in table.values() for clue in entry["clue"]]
    assert {clue["number"] for clue in clues} <= set(NAMES)
    assert all(len(clue["because"]) > 10 for clue in clues)
    assert all(clue["at_most"] <= 3.2 for clue in clues)


def test_a_photo_of_a_ring():
    rgb = np.zeros((480, 640, 3), np.float32) + np.array(BENCH, np.float32)
    for share, light in [(1.0, STEEL), (0.82, BLACK), (0.62, (0.01, 0.01, 0.01)), (0.6, STEEL), (0.43, BENCH)]:
        axes = (round(OUTER.a * share), round(OUTER.b * share))
        cv2.ellipse(rgb, (320, 240), axes, OUTER.angle_deg, 0, 360, light, -1, cv2.LINE_AA)
    photo = Photo("drawn", "0" * 64, (np.clip(rgb, 0, 1) ** (1 / 2.2) * 255).astype(np.uint8))
    seen = see_face(photo, OUTER, BORE)
    assert (seen.kind, seen.closure.value) == ("bearing", "rubber_seal")


def test_a_part_at_the_border_does_not_fail():
    photo = Photo("plain", "0" * 64, np.full((100, 120, 3), 90, np.uint8))
    seen = see_face(photo, Ellipse(5, 5, 80, 70, 0), Ellipse(5, 5, 30, 26, 0))
    assert seen.kind in {"bearing", "shaft_seal"}


@pytest.mark.skipif(not PHOTOS.is_dir(), reason="the labelled photos are not part of the product")
def test_labelled_photos():
    """Rings as labelled, each moved by about one per cent."""
    rng = np.random.default_rng(8)
    right, kinds, sure_and_wrong, balls = [], [], 0, []
    for label_file in sorted(PHOTOS.glob("*.json")):
        label = json.loads(label_file.read_text())
        if not label["fully_in_view"]:
            continue
        rings = [_moved(label["ellipses_px"][name], rng) for name in ("od_full", "bore_full")]
        seen = see_face(open_photo(label_file.with_suffix(".jpg")), *rings)
        true = label["closure"] if label["kind"] == "bearing" else label["lip_face"]
        answer = seen.closure if label["kind"] == "bearing" else seen.lip_face
        right.append(answer.value == true)
        kinds.append(seen.kind == label["kind"])
        sure_and_wrong += answer.value != true and answer.p > 0.9
        if label.get("ball_count"):
            balls.append(seen.ball_count == label["ball_count"])
    assert np.mean(right) >= 0.97
    assert np.mean(kinds) >= 0.97
    assert sure_and_wrong == 0
    assert np.mean(balls) >= 0.8


def _moved(e: dict[str, float], rng: np.random.Generator) -> Ellipse:
    dx, dy, da, db = rng.normal(0, 0.01, 4) * e["a"]
    return Ellipse(e["cx"] + dx, e["cy"] + dy, e["a"] + da, min(e["b"] + db, e["a"] + da), e["angle_deg"])
