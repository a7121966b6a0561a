"""The trained reader of signs. Outside source: the strings drawn; drawn_marks.py shares no code with it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.vision.marks import read_marks, sign_reader, text_finder
from screener.vision.marks.designation import key_of
from screener.vision.marks.face_strip import FaceStrip, straighten_face
from screener.vision.marks.runs import TextRun, find_runs
from screener.vision.marks.sign_reader import ALPHABET, SignCut, cut_for_signs, read_signs, signs_reach
from screener.vision.rings import close_up, learned
from screener.vision.text_engine import TextEngine

SMALL = (840, 760)
TEXTS = ["6202/C3", "4718-XK", "BRENVOK", "58K093"]


def strip_of(face: DrawnFace) -> tuple[np.ndarray, FaceStrip]:
    gray, outer, bore = draw(face)
    return gray, straighten_face(gray, outer, bore)


def one_text(text: str, **changes: object) -> DrawnFace:
    return DrawnFace((DrawnMark(text, 40.0),), **({"canvas": SMALL} | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(
    "changes",
    [
        {"inward": True, "dark": True},
        {"inward": False, "dark": False, "strength": 0.6, "tilt_deg": 25.0},
        {"inward": True, "process": "dotted", "text_height": 0.08},
        {"inward": False, "process": "stamped", "pitch": 1.4},
    ],
)
def test_signs_are_read_whatever_they_say(text: str, changes: dict[str, object]) -> None:
    gray, strip = strip_of(one_text(text, **changes))
    runs = find_runs(strip)
    read = read_signs([cut_for_signs(gray, strip, run, SignCut(), outward=not changes["inward"]) for run in runs])
    assert key_of(text) in {key_of(lattice.best()[0]) for lattice in read}


@pytest.mark.parametrize("closure", ["open", "shield", "rubber_seal"])
def test_a_bare_face_reads_as_nothing(closure: str) -> None:
    gray, strip = strip_of(DrawnFace((), canvas=SMALL, closure=closure, seed=5))
    runs = [TextRun(x, x + 120.0, y, y + 30.0, 3.0, 1) for x in range(0, 1500, 150) for y in (28.0, 60.0)]
    read = read_signs([cut_for_signs(gray, strip, run, SignCut(), outward=True) for run in runs])
    assert sum(len(lattice.best()[0]) > 1 for lattice in read) <= 1


def test_a_run_that_ends_too_soon_is_known_by_the_signs_beyond_it() -> None:
    gray, strip = strip_of(one_text("6305-2RS C3", inward=False, text_height=0.075))
    run = max(find_runs(strip), key=lambda run: run.strength)
    short = TextRun(run.x0, run.x1 - run.height, run.y0, run.y1, run.strength, run.polarity)
    cut = SignCut(beside=2.2)
    (lattice,) = read_signs([cut_for_signs(gray, strip, short, cut, outward=True)])
    first, last = signs_reach(lattice, strip, short, cut, outward=True)
    assert first == pytest.approx(run.x0, abs=0.5 * run.height)
    assert last == pytest.approx(run.x1, abs=0.5 * run.height)


def test_two_texts_far_apart_are_parted() -> None:
    gray, strip = strip_of(
        DrawnFace((DrawnMark("KEDRUNA", 20.0), DrawnMark("6004", 62.0)), canvas=SMALL, inward=False, text_height=0.06)
    )
    runs = sorted(find_runs(strip), key=lambda run: -run.strength)[:2]
    both = TextRun(
        min(r.x0 for r in runs), max(r.x1 for r in runs), runs[0].y0, runs[0].y1, runs[0].strength, runs[0].polarity
    )
    (lattice,) = read_signs([cut_for_signs(gray, strip, both, SignCut(), outward=True)])
    assert lattice.best()[0].split() == ["KEDRUNA", "6004"]


def test_without_the_network_the_general_engine_stands_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sign_reader, "MODEL", Path("not-there.onnx"))
    gray, outer, bore = draw(one_text("6202/C3", inward=False))
    assert read_signs([np.zeros((48, 200), np.uint8)]) == []
    seen = read_marks(gray, outer, bore, kind="bearing", engine=TextEngine(threads=1))
    assert seen.designation is not None
    assert key_of(seen.designation.text) == "6202C3"


def test_it_knows_signs_and_not_numbers() -> None:
    """A number in no table is read as it stands: common practice is to doubt the part, not the mark."""
    gray, strip = strip_of(one_text("9173-4QF", inward=False))
    read = read_signs([cut_for_signs(gray, strip, run, SignCut(), outward=True) for run in find_runs(strip)])
    assert "91734QF" in {key_of(lattice.best()[0]) for lattice in read}


def test_all_networks_together_are_small() -> None:
    files = [sign_reader.MODEL, text_finder.MODEL, learned.MODEL, close_up.MODEL]
    assert sum(file.stat().st_size for file in files) < 15_000_000


def test_rows_of_a_lattice_are_probabilities() -> None:
    (lattice,) = read_signs([np.full((48, 120), 128, np.uint8)])
    assert lattice.log_p.shape[1] == 1 + len(ALPHABET)
    assert np.exp(lattice.log_p).sum(axis=1) == pytest.approx(np.ones(len(lattice.log_p)), abs=1e-4)


def test_a_text_found_whole_and_in_part_is_one_mark() -> None:
    """The same face carried "6205 ZZ" and twice "6205" while pieces of a run were kept beside it."""
    gray, outer, bore = draw(one_text("6205 ZZ", inward=False, text_height=0.075, pitch=1.4))
    seen = read_marks(gray, outer, bore, kind="bearing", engine=TextEngine(threads=1))
    assert [key_of(mark.text) for mark in seen.marks] == ["6205ZZ"]
