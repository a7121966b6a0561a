"""Path-traced parts that no training saw, as a folder of labelled photos for tests/vision/ablate_rings.py.

    python tests/training/held_out.py --out DIR --seed 770001 --count 400
    python tests/vision/ablate_rings.py DIR

On two cores about two and a half seconds a picture; no GPU is needed. The shapes are made up as in traced.py (no
standard sizes, no card), from another seed, on benches with other numbers than those trained on.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import traced

OTHER_BENCHES = 1000
QUALITY = 97
"""The pictures went through a phone's JPEG already; this one should add nothing."""


def label_of(seed: int, number: int, circles: np.ndarray, *, polished: bool) -> dict[str, object]:
    """Circles and, for a bearing, its diameters; the shape is made up again from the scene's own numbers."""
    rng = np.random.default_rng([seed, number])
    rng.integers(len(traced.RUBBERS))
    keys = ("cx", "cy", "a", "b", "angle_deg")
    ellipses = {
        name: dict(zip(keys, map(float, circle), strict=True))
        for name, circle in zip(traced.CIRCLES, circles, strict=True)
    }
    if rng.random() < traced.SEAL_SHARE:
        return {"kind": "shaft_seal", "ellipses_px": ellipses}
    part = traced.made_up_bearing(rng, polished=polished)
    return {
        "kind": "bearing",
        "closure": part.closure,
        "bore_mm": part.shape.bore_mm,
        "od_mm": part.shape.od_mm,
        "chamfer_mm": part.outer.radial,
        "ellipses_px": ellipses,
    }


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=770001)
    ask.add_argument("--count", type=int, default=400)
    ask.add_argument("--samples", type=int, default=24)
    ask.add_argument("--polished", action="store_true", help="as in traced.py")
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    tracer = traced.Tracer(first_bench=OTHER_BENCHES)
    for number in range(given.count):
        scene, circles = traced.made_up_scene(np.random.default_rng([given.seed, number]), polished=given.polished)
        light = np.zeros((1, traced.SIDE_PX, traced.SIDE_PX, 3), np.float32)
        tracer.render(np.array([scene]), light, given.samples, given.seed * 7 + number)
        picture = traced.developed(light[0], np.random.default_rng([given.seed, number, 1]))
        name = given.out / f"s{number:04d}"
        cv2.imwrite(f"{name}.jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
        name.with_suffix(".json").write_text(
            json.dumps(label_of(given.seed, number, circles, polished=given.polished)), encoding="utf-8"
        )


if __name__ == "__main__":
    main()
