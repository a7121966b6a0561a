"""Measure knowing a picture again: ``python tests/vision/measure_fingerprint.py [--folder DIR] [--scenes 12]``.

Not a test. Hits: each photo against itself after one change. False hits: all pairs of different photos, and drawn
scenes shot again (the camera moved a little, other noise).
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2] / "samples"))

from drawing.random_scenes import random_spec
from drawing.scene import draw_scene

from screener.vision.fingerprint import fingerprint, likeness

ROOT = Path(__file__).parents[2]

if TYPE_CHECKING:
    from collections.abc import Callable

    from drawing.scene_spec import SceneSpec

Gray = NDArray[np.uint8]


def cropped(gray: Gray, share: float, at: tuple[float, float] = (0.3, 0.6)) -> Gray:
    """Cut a share of each side's length away; ``at`` says how much of it at the left and top."""
    height, width = gray.shape
    x, y = round(width * share * at[0]), round(height * share * at[1])
    return np.ascontiguousarray(gray[y : y + round(height * (1 - share)), x : x + round(width * (1 - share))])


def saved(gray: Gray, quality: int) -> Gray:
    """Save as JPEG and open again."""
    _, data = cv2.imencode(".jpg", gray, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE))


def halved(gray: Gray) -> Gray:
    """Half the size."""
    return np.asarray(cv2.resize(gray, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))


def brighter(gray: Gray) -> Gray:
    """Gain 1.15, offset 8, cut off at white."""
    return np.clip(gray * 1.15 + 8, 0, 255).astype(np.uint8)


CHANGES: dict[str, Callable[[Gray], Gray]] = {
    "JPEG 30": lambda g: saved(g, 30),
    "half size": halved,
    "turned by 90": lambda g: np.ascontiguousarray(np.rot90(g)),
    "brighter": brighter,
    "10 % cut": lambda g: cropped(g, 0.1),
    "20 % cut": lambda g: cropped(g, 0.2),
    "30 % cut": lambda g: cropped(g, 0.3),
    "20 % cut, half, JPEG 30": lambda g: saved(halved(cropped(g, 0.2)), 30),
    "20 % cut, turned, brighter, JPEG 50": lambda g: saved(brighter(np.rot90(cropped(g, 0.2))), 50),
}


def shots_again(seed: int) -> list[Gray]:
    """One drawn scene, then the same from a camera moved a little, and with nothing moved but the noise."""
    spec = random_spec(np.random.default_rng(seed))
    camera = spec.camera
    moved = [
        replace(camera, tilt_deg=camera.tilt_deg + tilt, azimuth_deg=camera.azimuth_deg + turn)
        for tilt, turn in ((0, 0), (0, 0), (0.5, 0), (1.5, 0), (3, 2), (0, 5), (6, 10))
    ]
    # The same lamps and bench for all; only the unmoved camera's second shot gets other lamps and noise.
    return [_drawn(replace(spec, camera=each), seed + (k == 1)) for k, each in enumerate(moved)]


def _drawn(spec: SceneSpec, seed: int) -> Gray:
    picture, _ = draw_scene(spec, np.random.default_rng(seed))
    return np.asarray(cv2.cvtColor(np.asarray(picture, np.uint8), cv2.COLOR_BGR2GRAY))


def say(*words: object, sep: str = " ") -> None:
    """Write a line."""
    sys.stdout.write(sep.join(map(str, words)) + "\n")


def main() -> None:
    """Change, compare, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=ROOT / "samples" / "photos")
    parser.add_argument("--scenes", type=int, default=12)
    parser.add_argument("--first-seed", type=int, default=950)
    options = parser.parse_args()
    files = sorted(options.folder.rglob("*.jpg"))
    pictures = [np.asarray(cv2.imread(str(p), cv2.IMREAD_GRAYSCALE)) for p in files]
    cv2.setNumThreads(1)
    prints = [fingerprint(p) for p in pictures]
    say(len(files), "photos,", sum(not p for p in prints), "without a fingerprint; longest", max(map(len, prints)))
    for name, change in CHANGES.items():
        found = [likeness(p, fingerprint(change(g))) for p, g in zip(prints, pictures, strict=True)]
        hits = [f.same_picture for f in found]
        misses = [f for f in found if not f.same_picture]
        if misses:
            say("   miss:", *misses[:4], sep="\n      ")
        low = np.percentile([f.structure for f in found], 10), np.percentile([f.laid for f in found], 10)
        say(f"{name:38} {sum(hits)}/{len(hits)}  10 % have structure < {low[0]:.3f}, laid < {low[1]:.0f}")
    began = time.process_time()
    pairs = [(a, b, likeness(prints[a], prints[b])) for a, b in combinations(range(len(prints)), 2)]
    spent = (time.process_time() - began) / max(1, len(pairs))
    say(len(pairs), "pairs,", f"{1000 * spent:.2f} ms each; false hits:")
    for a, b, found in pairs:
        if found.same_picture:
            say("  ", files[a].name, files[b].name, found)
    say("nearest miss by structure:", max((f for *_, f in pairs if not f.same_picture), key=lambda f: f.structure))
    large = cv2.resize(pictures[0], (4000, 3000))
    began = time.process_time()
    for _ in range(10):
        fingerprint(large)
    say(f"12 MP: {100 * (time.process_time() - began):.1f} ms")
    for seed in range(options.first_seed, options.first_seed + options.scenes):
        first, *others = [fingerprint(g) for g in shots_again(seed)]
        for name, again in zip(
            ("same place", "0.5 deg", "1.5 deg", "3+2 deg", "turned 5", "6+10 deg"), others, strict=True
        ):
            found = likeness(first, again)
            if found.same_picture or found.structure > 0.7:
                say("shot again", seed, name, "HIT" if found.same_picture else "miss", found)


if __name__ == "__main__":
    main()
