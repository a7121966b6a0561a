"""The trained finder of texts. Outside source: where drawn_marks.py has put them; it shares no code with the finder."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.vision.marks import read_marks, text_finder
from screener.vision.marks.designation import key_of
from screener.vision.marks.face_strip import FaceStrip, straighten_face
from screener.vision.marks.runs import find_runs
from screener.vision.marks.text_finder import TextPlace, find_texts
from screener.vision.text_engine import TextEngine

CANVAS = (840, 760)


def strip_of(face: DrawnFace) -> FaceStrip:
    gray, outer, bore = draw(face)
    return straighten_face(gray, outer, bore)


def begins_at(place: TextPlace, strip: FaceStrip) -> float:
    """Degrees from the strip's first column to a text's, as `DrawnMark.at_deg` has it."""
    return place.x0 / strip.shade.shape[1] * 360.0 % 360.0


def apart(a: float, b: float) -> float:
    return abs((a - b + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("inward", [True, False])
@pytest.mark.parametrize("process", ["etched", "stamped", "dotted"])
@pytest.mark.parametrize("closure", ["open", "shield", "rubber_seal"])
def test_each_text_is_found_where_it_stands(inward: bool, process: str, closure: str) -> None:
    marks = (DrawnMark("6204-2RS C3", 25.0), DrawnMark("TALQUIST", 150.0), DrawnMark("31B207", 275.0))
    face = DrawnFace(marks, canvas=CANVAS, inward=inward, process=process, closure=closure, text_height=0.07)
    strip = strip_of(face)
    sure = [place for place in find_texts(strip.shade) if place.p > 0.6]
    for mark in marks:
        nearest = min(sure, key=lambda place: apart(begins_at(place, strip), mark.at_deg))
        assert apart(begins_at(nearest, strip), mark.at_deg) < 4.0
        assert strip.relative_radius(nearest.middle) == pytest.approx(face.text_radius, abs=0.015)
        assert nearest.capitals / strip.radius_rows == pytest.approx(face.text_height, rel=0.25)
    assert len(sure) == len(marks)


@pytest.mark.parametrize("at_deg", [330.0, 345.0, 359.0])
def test_a_text_across_the_seam_is_one(at_deg: float) -> None:
    strip = strip_of(DrawnFace((DrawnMark("6305-2RS1/C3", at_deg),), canvas=CANVAS))
    (place,) = (place for place in find_texts(strip.shade) if place.p > 0.6)
    assert apart(begins_at(place, strip), at_deg) < 4.0
    assert 0 <= place.x0 < strip.shade.shape[1]


@pytest.mark.parametrize("closure", ["open", "shield", "rubber_seal"])
@pytest.mark.parametrize("seed", [3, 4])
def test_a_bare_face_has_none(closure: str, seed: int) -> None:
    strip = strip_of(DrawnFace((), canvas=CANVAS, closure=closure, seed=seed, glare=0.4))
    assert not [place for place in find_texts(strip.shade) if place.p > 0.6]


def test_a_finer_strip_gives_the_same_places() -> None:
    gray, outer, bore = draw(DrawnFace((DrawnMark("KEDRUNA", 80.0),), canvas=CANVAS, text_height=0.05))
    coarse, fine = straighten_face(gray, outer, bore), straighten_face(gray, outer, bore, radius_rows=860)
    a, b = (find_texts(strip.shade)[0] for strip in (coarse, fine))
    assert apart(begins_at(a, coarse), begins_at(b, fine)) < 2.0
    assert coarse.relative_radius(a.middle) == pytest.approx(fine.relative_radius(b.middle), abs=0.01)


def test_without_the_network_strokes_alone_are_sought(monkeypatch: pytest.MonkeyPatch) -> None:
    gray, outer, bore = draw(DrawnFace((DrawnMark("6202/C3", 40.0),), canvas=CANVAS, inward=False))
    strip = straighten_face(gray, outer, bore)
    monkeypatch.setattr(text_finder, "MODEL", Path("not-there.onnx"))
    assert find_texts(strip.shade) == ()
    assert find_runs(strip)
    seen = read_marks(gray, outer, bore, kind="bearing", engine=TextEngine(threads=1))
    assert seen.designation is not None
    assert key_of(seen.designation.text) == "6202C3"


def test_the_network_goes_first_and_a_text_is_sought_once() -> None:
    strip = strip_of(DrawnFace((DrawnMark("6202/C3", 40.0), DrawnMark("ORSAMIL", 200.0)), canvas=CANVAS))
    seen, runs = find_texts(strip.shade), find_runs(strip)
    assert len(seen) == 2
    for place, run in zip(seen, runs, strict=False):
        assert (run.x0 + run.x1) / 2 == pytest.approx((place.x0 + place.x1) / 2, abs=0.3 * run.height)
    for place in seen:
        middle = (place.x0 + place.x1) / 2
        assert sum(run.x0 < middle < run.x1 and run.y0 < place.middle < run.y1 for run in runs) == 1


def test_small_print_is_read_on_a_finer_strip() -> None:
    """A small mark on a large picture: the coarse strip shows its capitals 13 rows high."""
    face = DrawnFace(
        (DrawnMark("6204-2RS C3", 40.0),), canvas=(1700, 1600), radius_px=760.0, text_height=0.032, text_radius=0.93
    )
    gray, outer, bore = draw(face)
    seen = read_marks(gray, outer, bore, kind="bearing", engine=TextEngine(threads=1))
    assert seen.designation is not None
    assert key_of(seen.designation.text) == "62042RSC3"


@pytest.mark.parametrize("shape", [(37, 1629), (300, 1629), (538, 2920)])
def test_any_strip_is_answered(shape: tuple[int, int]) -> None:
    assert isinstance(find_texts(np.full(shape, 90, np.uint8)), tuple)


@pytest.mark.parametrize("middle", [-30.0, 5.0, 290.0, 900.0])
def test_a_place_at_the_strips_edge_is_a_run(middle: float) -> None:
    strip = strip_of(DrawnFace((), canvas=CANVAS))
    (run, *_) = find_runs(strip, seen=[TextPlace(1500.0, 1700.0, middle, 30.0, 0.9)])
    assert np.isfinite(run.strength)
    assert run.x0 < 1500.0
    assert run.x1 > 1700.0
