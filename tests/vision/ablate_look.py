"""What each stage of reading marks adds: ``python tests/vision/ablate_look.py FOLDER [--only full,one direction]``.

FOLDER holds labelled photos (NAME.jpg, NAME.json). Marks are read at the labels' rings with one stage taken out at a
time; counted are exact designations of legible marks (capitals from 14 px, contrast from 0.45, no defect, sharp), of
all marks, and wrong ones with p > 0.9. Not a test; about half a minute of CPU a stage on 40 photos.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from screener.vision.marks import designation, face_strip, read_marks, reading
from screener.vision.marks.designation import Vote, key_of
from screener.vision.marks.vocabulary import Vocabulary
from screener.vision.model import Ellipse
from screener.vision.photo import Photo, open_photo
from screener.vision.text_engine import Lattice, TextEngine


@dataclass(frozen=True)
class Change:
    """One name of one module set otherwise."""

    module: Any
    name: str
    value: Any


def one_string(lattice: Lattice, vocabulary: Vocabulary) -> dict[str, Vote]:
    """Votes of the likeliest string alone, as an engine without a lattice would give them."""
    text = lattice.best()[0].strip(" -/.")
    cost = vocabulary.cost(text)
    return {} if cost is None else {key_of(text): Vote(text, 1.0)}


def unforgiving(lattice: Lattice) -> Lattice:
    """The lattice as it is: no look-alikes."""
    return lattice


STAGES: dict[str, tuple[Change, ...]] = {
    "full": (),
    "one direction": (Change(reading, "_way_weights", lambda _reads: {"outward": 1.0, "inward": 0.0}),),
    "one cut": (Change(reading, "_MORE_CUTS", ()),),
    "no second look at the shade": (
        Change(
            reading, "_MORE_CUTS", tuple(tuple(c for c in cuts if not c.as_it_looks) for cuts in reading._MORE_CUTS)
        ),
    ),
    "no finer strip": (Change(reading, "_FINE_FROM_PX", float("inf")),),
    "not squeezed": (Change(face_strip, "SQUEEZE", 1.0),),
    "single string without lattice": (Change(reading, "votes", one_string),),
    "no look-alikes": (Change(designation, "forgiving", unforgiving),),
}


@contextmanager
def changed(changes: tuple[Change, ...]) -> Iterator[None]:
    """Take a stage out, and put it back."""
    before = [getattr(c.module, c.name) for c in changes]
    for c in changes:
        setattr(c.module, c.name, c.value)
    try:
        yield
    finally:
        for c, value in zip(changes, before, strict=True):
            setattr(c.module, c.name, value)


@dataclass
class Count:
    """What one run gave."""

    legible: int = 0
    legible_right: int = 0
    marked: int = 0
    right: int = 0
    surely_wrong: int = 0

    def add(self, *, good: bool, legible: bool, p: float) -> None:
        """Count one mark."""
        self.marked += 1
        self.right += good
        self.legible += legible
        self.legible_right += good and legible
        self.surely_wrong += not good and p > 0.9


def is_legible(label: dict[str, Any]) -> bool:
    """Whether the label says that anybody could read the mark."""
    mark = label["marking"]
    clear = mark["strength"] >= 0.45 and mark["defect"] not in ("smeared", "missing_char")
    return bool(clear and label["text_height_px"] >= 14 and label["blur_px"] < 1.2 and label["motion_px"] < 5)


def run(photos: list[tuple[Photo, dict[str, Any]]], engine: TextEngine) -> Count:
    """Read every marked bearing at its true rings."""
    count = Count()
    for photo, label in photos:
        rings = (label["ellipses_px"][name] for name in ("od_full", "bore_full"))
        outer, bore = (Ellipse(*(e[k] for k in ("cx", "cy", "a", "b", "angle_deg"))) for e in rings)
        read = read_marks(photo.gray, outer, bore, kind="bearing", engine=engine).designation
        good = read is not None and key_of(read.text) == key_of(label["marking"]["designation"])
        count.add(good=good, legible=is_legible(label), p=read.p if read else 0.0)
    return count


def marked_bearings(folder: Path) -> Iterator[tuple[Photo, dict[str, Any]]]:
    """Photos of bearings in full view that carry a mark."""
    for path in sorted(folder.glob("*.json")):
        label = json.loads(path.read_text())
        wanted = label.get("kind") == "bearing" and (label.get("marking") or {}).get("present")
        if wanted and label.get("fully_in_view", True) and path.with_suffix(".jpg").exists():
            yield open_photo(path.with_suffix(".jpg")), label


def main() -> None:
    """Read with each stage taken out, and print a table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--only", default=",".join(STAGES))
    given = ask.parse_args()
    engine, photos = TextEngine(threads=1), list(marked_bearings(given.folder))
    tell: Callable[[str], object] = sys.stdout.write
    tell(f"{'stage taken out':30s} legible   all marks  surely wrong  CPU s a photo\n")
    for name in given.only.split(","):
        begin = time.process_time()
        with changed(STAGES[name]):
            c = run(photos, engine)
        seconds = (time.process_time() - begin) / max(1, len(photos))
        tell(f"{name:30s} {c.legible_right:2d} of {c.legible:2d}  {c.right:2d} of {c.marked:2d}   ")
        tell(f"{c.surely_wrong:6d}        {seconds:6.2f}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
