"""Path-traced faces with marks that no training saw: other seeds, other type faces, other benches.

    python tests/training/held_out_marks.py --fonts FONTS --out DIR --seed 990001 --count 100
    python tests/vision/measure_drawn_marks.py --traced DIR

About five seconds a picture on two cores; no GPU is needed. NAME.png has NAME.json beside it: what is written, how high
its capitals are in the picture, and the outer circle and the bore. The designations are usual ones, unlike those of the
training; the first text is the designation.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import mark_scenes
import traced
from held_out import OTHER_BENCHES
from vision.measure_drawn_marks import CLEARANCES, CLOSURES, MAKERS, NUMBERS

FRAME = traced.Frame(960, (150, 440))


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--fonts", type=Path, required=True, help="folder of type faces that the training did not have")
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=990001)
    ask.add_argument("--count", type=int, default=100)
    ask.add_argument("--samples", type=int, default=20)
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    tracer = traced.Tracer(first_bench=OTHER_BENCHES)
    side = FRAME.side_px
    for number in range(given.count):
        rng = np.random.default_rng([given.seed, number])
        designation = f"{rng.choice(NUMBERS)}{rng.choice(CLOSURES)}{rng.choice(CLEARANCES)}"
        lot = f"{rng.integers(10, 60)}{rng.choice(list('ABCDEFGHK'))}{rng.integers(0, 1000):03d}"
        texts = (designation, str(rng.choice(MAKERS)), lot)[: rng.integers(2, 4)]
        made = mark_scenes.marked_scene(rng, given.fonts, FRAME, texts)
        scenes = np.array([made.scene])
        scenes["mark"] = 1
        face = np.zeros((side, side), np.uint8)
        for circle, inside in ((made.circles[0], given.samples), (made.circles[3], 0)):
            cx, cy, a, b, angle = map(float, circle)
            grown = 1.06 if inside else 0.9
            cv2.ellipse(face, ((cx, cy), (2 * a * grown, 2 * b * grown), angle), inside, -1)
        light = np.zeros((1, side, side, 3), np.float32)
        tracer.render(scenes, light, given.samples, given.seed * 7 + number, face[None].copy(), made.strip[None].copy())
        picture = traced.developed(light[0], np.random.default_rng([given.seed, number, 1]))
        name = given.out / f"m{number:04d}"
        cv2.imwrite(f"{name}.png", picture[..., ::-1])
        keys = ("cx", "cy", "a", "b", "angle_deg")
        outer, bore = (dict(zip(keys, map(float, made.circles[k]), strict=True)) for k in (0, 3))
        label = {
            "designation": designation,
            "texts": list(texts),
            "capitals_px": float(made.capital_share * np.sqrt(outer["a"] * outer["b"])),
            "share": float(made.scene["mark_share"]),
            "relief": float(made.scene["mark_relief"]),
            "outer": outer,
            "bore": bore,
        }
        name.with_suffix(".json").write_text(json.dumps(label), encoding="utf-8")


if __name__ == "__main__":
    main()
