"""Score the snap-ring groove on labelled photos: ``python tests/vision/measure_groove.py FOLDER [FOLDER …]``.

FOLDER holds NAME.jpg with NAME.json beside it, as tests/training/grooves.py writes them; labels without ``groove`` are
of parts that have none. Rings are found as in `look`. Prints, by what the label says and by how far the part is tilted,
how often a groove was seen, missed or not judged; then everything that was wrong.

A groove beside the face on the bench shows in narrow parts: seen it is right, and not seen as well, for only the seen
face is judged. A groove filled by its snap ring is not open; either answer is listed and counted apart.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from pathlib import Path

from screener.vision.face import see_face
from screener.vision.groove import see_groove
from screener.vision.model import GrooveSeen
from screener.vision.photo import open_photo
from screener.vision.rings.find import find_parts
from screener.vision.rings.sharpen import sharpened

TILTS = ((0, 12), (12, 20), (20, 30), (30, 60))


def seen_in(path: Path) -> GrooveSeen | None:
    """What the most convincing part of a photo shows; None where it is found to be no bearing."""
    photo = open_photo(path)
    for found in find_parts(photo.rgb)[:1]:
        pair = sharpened(photo.rgb, found)
        if pair.bore and see_face(photo, pair.outer.ellipse, pair.bore.ellipse).kind == "bearing":
            return see_groove(photo, pair.outer.ellipse, pair.bore.ellipse)
    return None


def wrong(true: str, answer: GrooveSeen) -> bool:
    """Whether an answer is plainly wrong; with the ring in its groove none is."""
    return (true == "near" and answer.value == "absent") or (true == "none" and answer.value == "present")


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("folders", type=Path, nargs="+")
    given = ask.parse_args()
    table: Counter[tuple[str, tuple[int, int], str]] = Counter()
    sure, misses = Counter[bool](), []
    for file in (f for folder in given.folders for f in sorted(folder.glob("*.json"))):
        label = json.loads(file.read_text(encoding="utf-8"))
        answer = seen_in(file.with_suffix(".jpg")) if label["kind"] == "bearing" else None
        if answer is None:
            continue
        true = label.get("groove", "none")
        tilt = next(t for t in TILTS if t[0] <= label["tilt_deg"] < t[1])
        table[true, tilt, answer.value] += 1
        sure[wrong(true, answer)] += answer.value != "not_seen" and answer.p > 0.9
        if wrong(true, answer):
            misses.append(f"{file}: {true} -> {answer.value} {answer.p:.2f}, tilted {label['tilt_deg']:.0f}")
    for true, tilt in sorted({key[:2] for key in table}):
        counts = {value: table[true, tilt, value] for value in ("present", "absent", "not_seen")}
        sys.stdout.write(f"{true:5s} {tilt[0]:2d} to {tilt[1]:2d} degrees: {counts}\n")
    sys.stdout.write(f"answers with p > 0.9: {sum(sure.values())}, of these wrong: {sure[True]}\n")
    sys.stdout.writelines(f"{miss}\n" for miss in misses)


if __name__ == "__main__":
    main()
