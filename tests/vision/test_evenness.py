"""How evenly a mark is made. Outside source: the faces are drawn even, or uneven by a known amount (drawn_marks.py
shares no code with what measures it).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.screening.checks.marking_quality import is_odd
from screener.vision.marks import read_marks
from screener.vision.model import MarkEvenness
from screener.vision.text_engine import TextEngine

FACE = DrawnFace((DrawnMark("HAVRIM", 20.0), DrawnMark("6203", 200.0)), canvas=(840, 760), tilt_deg=8.0, blur_px=0.6)


@pytest.fixture(scope="module")
def engine() -> TextEngine:
    return TextEngine(threads=1)


def judged(face: DrawnFace, engine: TextEngine) -> dict[str, MarkEvenness]:
    gray, outer, bore = draw(face)
    seen = read_marks(gray, outer, bore, kind="bearing", engine=engine)
    return {each.text: each for each in seen.evenness}


def odd(seen: MarkEvenness) -> set[str]:
    names = ("spacing", "baseline", "stroke", "contrast")
    spreads = {name: getattr(seen, name) for name in names}
    return {n for n, m in spreads.items() if m is not None and is_odd(f"mark_{n}", m.value, m.u)}  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"dark": False, "tilt_deg": 28.0, "tilt_towards_deg": 120.0},
        {"blur_px": 1.2, "noise": 5.0, "inward": False},
        {"glare": 0.7, "seed": 5},
    ],
)
def test_an_even_mark_is_even_under_tilt_blur_and_lamp(changes: dict[str, object], engine: TextEngine) -> None:
    seen = judged(replace(FACE, **changes), engine)
    assert seen
    assert {text: odd(each) for text, each in seen.items() if odd(each)} == {}


@pytest.mark.parametrize(("way", "amount"), [("baseline", 0.08), ("stroke", 0.4), ("contrast", 0.4)])
def test_what_was_drawn_uneven_is_found(way: str, amount: float, engine: TextEngine) -> None:
    found: set[str] = set()
    for seed in (2, 3):
        for each in judged(replace(FACE, uneven=way, uneven_by=amount, seed=seed), engine).values():
            found |= odd(each)
    assert way in found


def test_a_wandering_line_is_measured_about_as_drawn(engine: TextEngine) -> None:
    """Each letter is moved up or down by 0.7 to 1.25 of the amount; of that, what bends smoothly is taken off."""
    seen = judged(replace(FACE, uneven="baseline", uneven_by=0.06, seed=9), engine)["HAVRIM"]
    assert seen.letters == 6
    assert 0.02 < seen.baseline.value < 0.1
    assert seen.baseline.u > 0.005


def test_low_letters_are_not_judged(engine: TextEngine) -> None:
    assert judged(replace(FACE, radius_px=150.0), engine) == {}
