"""Score face, card and quality on labelled photos: ``python tests/vision/score_face.py FOLDER [--move 0.01]``.

The rings are taken from the labels, moved at random by ``--move`` of the radius, so that only the judgement of the face
is scored, not the finding of rings. Prints a table by class; nothing is written.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from pathlib import Path

import numpy as np

from screener.vision.card import find_card
from screener.vision.face import see_face
from screener.vision.model import Ellipse
from screener.vision.photo import Photo, open_photo
from screener.vision.quality import photo_problems


def moved(e: dict[str, float], share: float, rng: np.random.Generator) -> Ellipse:
    """Labelled ellipse (counted from pixel corners), moved and resized at random."""
    dx, dy, da, db = rng.normal(0, share, 4) * e["a"] if share else np.zeros(4)
    a = e["a"] + da
    return Ellipse(e["cx"] - 0.5 + dx, e["cy"] - 0.5 + dy, a, min(e["b"] + db, a), e["angle_deg"])


def score_face(photo: Photo, label: dict, rings: tuple[Ellipse, Ellipse], counts: Counter) -> None:
    """Count one face."""
    seen = see_face(photo, *rings)
    bearing = label["kind"] == "bearing"
    true = label["closure"] if bearing else label["lip_face"]
    answer = seen.closure if bearing else seen.lip_face
    counts["kind", label["kind"], seen.kind] += 1
    counts["face", true, answer.value] += 1
    counts["surely wrong face", bearing, answer.value != true and answer.p > 0.9] += 1
    counts["surely wrong kind", "", seen.kind != label["kind"] and seen.kind_p > 0.9] += 1
    if label.get("ball_count"):
        counts["balls counted right", "", seen.ball_count == label["ball_count"]] += 1
    if seen.kind != label["kind"] or answer.value != true:
        sys.stdout.write(
            f"  miss {label['_name']}: {true} -> {answer.value} {answer.p:.2f}, {seen.kind} {seen.kind_p:.2f}\n"
        )


def score_card(photo: Photo, label: dict, counts: Counter) -> None:
    """Count one card: found, and largest error of a visible marker's centre."""
    card = find_card(photo)
    counts["card", bool(label["card"]), card is not None] += 1
    if card and label["card"]:
        true = np.array(label["card"]["centres_px"]) - 0.5
        worst = max(float(np.hypot(*(np.array(card.centres_px[m]) - true[m]))) for m in card.seen)
        counts["card centres within 1 px", "", worst < 1.0] += 1


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--move", type=float, default=0.01)
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args()
    rng, counts = np.random.default_rng(given.seed), Counter()
    for label_file in sorted(given.folder.glob("*.json")):
        if not label_file.with_suffix(".jpg").exists():
            continue
        label = json.loads(label_file.read_text()) | {"_name": label_file.stem}
        photo = open_photo(label_file.with_suffix(".jpg"))
        score_card(photo, label, counts)
        if label.get("fully_in_view", True):
            rings = tuple(moved(label["ellipses_px"][n], given.move, rng) for n in ("od_full", "bore_full"))
            score_face(photo, label, rings, counts)
            for problem in photo_problems(photo, rings[0]):
                counts["problem", "", problem.code] += 1
    for key, n in sorted(counts.items(), key=str):
        sys.stdout.write(f"{n:5d}  {key[0]}: {key[1]} -> {key[2]}\n")


if __name__ == "__main__":
    sys.exit(main())
