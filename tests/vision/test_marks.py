"""Marks around drawn faces. Outside source: the strings drawn and the homography they were drawn through.

The drawings (drawn_marks.py) share no code with the reader. Labelled renders beside the checkout are read too where
they are present.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import cv2
import numpy as np
import pytest
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.vision.marks import MarksSeen, read_marks
from screener.vision.marks.designation import key_of
from screener.vision.model import Ellipse
from screener.vision.text_engine import TextEngine

PHOTOS = Path(__file__).parents[3] / "shared" / "photos"
SMALL = (840, 760)


@pytest.fixture(scope="module")
def engine() -> TextEngine:
    return TextEngine(threads=1)


def face(*texts: str, **changes: object) -> DrawnFace:
    marks = tuple(DrawnMark(text, 20.0 + 360.0 * i / len(texts)) for i, text in enumerate(texts))
    return DrawnFace(marks, **({"canvas": SMALL} | changes))  # type: ignore[arg-type]


def read(drawn: DrawnFace, engine: TextEngine, kind: str = "bearing") -> MarksSeen:
    gray, outer, bore = draw(drawn)
    return read_marks(gray, outer, bore, kind=kind, engine=engine)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        ("6202/C3", {"inward": True, "dark": True}),
        ("6004ZZ/C3", {"inward": False, "dark": False, "closure": "shield"}),
        ("608-2RSR C3", {"inward": True, "dark": False, "closure": "rubber_seal", "strength": 0.6}),
        ("60042RS", {"inward": False, "tilt_deg": 25.0}),
        ("6305-2Z", {"closure": "shield", "text_radius": 0.72, "tilt_deg": 20.0, "bore_share": 0.35}),
        ("61902", {"pitch": 1.5, "noise": 5.0, "blur_px": 0.9}),
    ],
)
def test_designation_is_read_as_marked(text: str, changes: dict[str, object], engine: TextEngine) -> None:
    seen = read(face("TILBRIX", text, "24K071", **changes), engine)
    assert seen.designation is not None
    assert key_of(seen.designation.text) == key_of(text)
    assert seen.designation.p > 0.6
    assert seen.legible
    assert "TILBRIX" in seen.words


@pytest.mark.parametrize("text", ["608", "6006", "6009"])
@pytest.mark.parametrize("inward", [True, False])
def test_numbers_that_also_read_upside_down_are_read_the_right_way(text: str, inward: bool, engine: TextEngine) -> None:
    seen = read(face("HAVRIM", text, inward=inward), engine)
    assert seen.designation is not None
    assert seen.designation.text == text
    assert {mark.text for mark in seen.marks} == {"HAVRIM", text}


def test_a_face_without_marks_has_none(engine: TextEngine) -> None:
    for seed, closure in enumerate(("open", "shield", "rubber_seal")):
        seen = read(face(closure=closure, seed=seed), engine)
        assert seen.designation is None
        assert not seen.legible


def test_words_and_lot_codes_are_no_designation(engine: TextEngine) -> None:
    seen = read(face("HAVRIM", "24K071"), engine)
    assert seen.designation is None
    assert {mark.text for mark in seen.marks} == {"HAVRIM", "24K071"}


def test_text_too_small_to_read_is_never_surely_wrong(engine: TextEngine) -> None:
    # Capitals under about 14 px are unreadable (common practice; measured on photos).
    for seed, text in enumerate(("6204", "6306", "6905")):
        seen = read(face("TILBRIX", text, radius_px=95.0, blur_px=1.2, noise=4.0, seed=seed), engine)
        if seen.designation is not None and key_of(seen.designation.text) != text:
            assert seen.designation.p < 0.9


def test_a_mark_that_contradicts_the_size_is_not_corrected(engine: TextEngine) -> None:
    # Bore to outside diameter of a 6205 is 25/52 = 0.48 (ISO 15); this face has 0.3.
    seen = read(face("TILBRIX", "6205-2RS", bore_share=0.3), engine)
    assert seen.designation is not None
    assert key_of(seen.designation.text) == "62052RS"


def test_size_on_a_shaft_seal(engine: TextEngine) -> None:
    drawn = face("ZEFONA", "35x52x7", "NBR", closure="rubber_seal", text_radius=0.8, bore_share=0.6, text_height=0.055)
    seen = read(drawn, engine, kind="shaft_seal")
    assert seen.designation is not None
    assert key_of(seen.designation.text) == "35X52X7"
    assert {mark.place for mark in seen.marks} == {"body"}
    assert "NBR" in seen.words


def test_regions_outline_the_marks_in_the_photo(engine: TextEngine) -> None:
    drawn = face("6204", tilt_deg=0.0, inward=False)
    gray, outer, bore = draw(drawn)
    (mark,) = read_marks(gray, outer, bore, kind="bearing", engine=engine).marks
    middle = np.mean(mark.region_px, axis=0) - (outer.cx, outer.cy)
    # The text begins at 20 degrees and is a few degrees long.
    assert 20.0 < math.degrees(math.atan2(middle[1], middle[0])) < 36.0
    assert np.hypot(*middle) == pytest.approx(drawn.text_radius * drawn.radius_px, rel=0.04)


def test_without_a_bore_the_ring_is_still_read(engine: TextEngine) -> None:
    gray, outer, _ = draw(face("TILBRIX", "6202", tilt_deg=6.0))
    seen = read_marks(gray, outer, None, kind="bearing", engine=engine)
    assert seen.designation is not None
    assert seen.designation.text == "6202"


def test_a_speck_is_not_a_part(engine: TextEngine) -> None:
    seen = read_marks(np.zeros((50, 50), np.uint8), Ellipse(25, 25, 9, 8, 0), None, kind="bearing", engine=engine)
    assert seen.marks == ()


def ellipse(label: dict[str, float]) -> Ellipse:
    return Ellipse(label["cx"], label["cy"], label["a"], label["b"], label["angle_deg"])


def is_legible(label: dict[str, object]) -> bool:
    mark = label["marking"]
    return bool(
        label["kind"] == "bearing"
        and mark["present"]
        and label["text_height_px"] >= 14
        and mark["strength"] >= 0.45
        and mark["defect"] not in ("smeared", "missing_char")
        and label["blur_px"] < 1.2
        and label["motion_px"] < 5
    )


@pytest.mark.skipif(not PHOTOS.is_dir(), reason="the labelled renders are not beside this checkout")
def test_labelled_renders_at_true_rings(engine: TextEngine) -> None:
    labels = [json.loads(path.read_text()) | {"photo": path.with_suffix(".jpg")} for path in PHOTOS.glob("*.json")]
    right = []
    for label in filter(is_legible, labels):
        gray = cv2.imread(str(label["photo"]), cv2.IMREAD_GRAYSCALE)
        rings = label["ellipses_px"]
        seen = read_marks(gray, ellipse(rings["od_full"]), ellipse(rings["bore_full"]), kind="bearing", engine=engine)
        good = seen.designation is not None and key_of(seen.designation.text) == key_of(label["marking"]["designation"])
        right.append(good)
        assert good or seen.designation is None or seen.designation.p <= 0.9
    assert sum(right) >= 0.6 * len(right)


@pytest.mark.parametrize("height", [0.05, 0.075])
def test_height_of_the_capitals_is_that_drawn(height: float, engine: TextEngine) -> None:
    drawn = face("TILBRIX", "6204", "24K071", text_height=height, tilt_deg=0.0, radius_px=330)
    assert read(drawn, engine).capitals_px == pytest.approx(height * 330, rel=0.15)


def test_glare_over_a_mark_is_told(engine: TextEngine) -> None:
    gray, outer, bore = draw(face("TILBRIX", "6204", tilt_deg=0.0))
    clear = read_marks(gray, outer, bore, kind="bearing", engine=engine)
    (mark,) = (mark for mark in clear.marks if mark.text == "6204")
    (left, top), (right, bottom) = np.min(mark.region_px, axis=0), np.max(mark.region_px, axis=0)
    gray[int(top) : int(bottom), int(left + 0.55 * (right - left)) : int(right) + 30] = 255
    burnt = read_marks(gray, outer, bore, kind="bearing", engine=engine)
    assert clear.burnt < 0.05
    assert burnt.burnt > 0.2 or "6204" not in {mark.text for mark in burnt.marks}
