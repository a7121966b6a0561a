"""Measure knowing a picture again: ``python tests/vision/measure_fingerprint.py [--folder DIR] [--scenes 12]``.

Not a test. Hits: each photo against itself after one change. False hits: all pairs of different photos, drawn scenes
shot again (the camera moved a little, other noise), and another part of a kind laid under an unmoved camera.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from itertools import combinations, permutations
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2] / "samples"))

import drawing.scene
from drawing.random_scenes import random_spec
from drawing.scene import draw_scene

from screener.receiving.same_pictures import MOST_COMPARED
from screener.vision.fingerprint import MAX_BEND_PX, fingerprint, likeness
from screener.vision.print_index import PrintIndex
from screener.vision.rings.find import find_parts

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


def turned(gray: Gray) -> Gray:
    """Turned by 90 degrees."""
    return np.ascontiguousarray(np.rot90(gray))


TURNS_DEG = (1, 2, 4, 7, 15)
LEFT = {"black": 0, "white": 255, "cut": None}
"""What a small turn leaves at the corners; with None they are cut away."""


def tilted(gray: Gray, degrees: float, left: int | None, scale: float = 1.0) -> Gray:
    """Turned about the middle, its corners filled with one level or cut away, made a little larger or smaller."""
    height, width = gray.shape
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, scale)
    level = 0 if left is None else left
    turned_ = cv2.warpAffine(gray, matrix, (width, height), flags=cv2.INTER_CUBIC, borderValue=level)
    if left is None:
        sine, cosine = abs(np.sin(np.radians(degrees))), abs(np.cos(np.radians(degrees)))
        share = scale * min(width / (width * cosine + height * sine), height / (height * cosine + width * sine))
        x, y = round(width * (1 - min(share, 1)) / 2), round(height * (1 - min(share, 1)) / 2)
        turned_ = np.ascontiguousarray(turned_[y : height - y, x : width - x])
    return saved(turned_, 70)


_RNG = np.random.default_rng(17)


def anywhere(gray: Gray, kept: float) -> Gray:
    """A share of each side kept, at a place drawn by chance."""
    return cropped(gray, 1 - kept, (_RNG.random(), _RNG.random()))


CHANGES: dict[str, Callable[[Gray], Gray]] = {
    "JPEG 30": lambda g: saved(g, 30),
    "half size": halved,
    "turned by 90": turned,
    "turned by 180": lambda g: turned(turned(g)),
    "brighter": brighter,
    "90 % kept, JPEG 60": lambda g: saved(anywhere(g, 0.9), 60),
    "80 % kept, JPEG 60": lambda g: saved(anywhere(g, 0.8), 60),
    "70 % kept, JPEG 60": lambda g: saved(anywhere(g, 0.7), 60),
    "60 % kept, JPEG 60": lambda g: saved(anywhere(g, 0.6), 60),
    "50 % kept, JPEG 60": lambda g: saved(anywhere(g, 0.5), 60),
    "70 % kept, half, turned, JPEG 40": lambda g: saved(halved(turned(anywhere(g, 0.7))), 40),
    "80 % kept, turned, brighter, JPEG 50": lambda g: saved(brighter(turned(anywhere(g, 0.8))), 50),
}


def like_parts(seed: int, size: tuple[int, int] = (960, 720)) -> list[Gray]:
    """Two parts of a kind, one after the other under one camera, lamp and bench that nothing moved; other noise.

    The second lies turned by chance, with its balls, grinding and mark where they then are.
    """
    spec = random_spec(np.random.default_rng(seed))
    spec = replace(spec, width_px=size[0], height_px=size[1])
    whole = drawing.scene._part_things
    shots = []
    for part_seed in (seed, seed + 1):
        rng = np.random.default_rng(part_seed)
        mark = spec.part.marking and replace(spec.part.marking, start_rad=float(rng.uniform(0, 6.28)))
        mine = replace(spec, part=replace(spec.part, marking=mark))
        drawing.scene._part_things = lambda spec, px_per_mm, _, rng=rng: whole(spec, px_per_mm, rng)
        try:
            shot = _drawn(mine, seed).astype(np.float64)
        finally:
            drawing.scene._part_things = whole
        shots.append(saved(np.clip(shot + rng.normal(0, 2, shot.shape), 0, 255).astype(np.uint8), 85))
    return shots


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


def seen(gray: Gray) -> str:
    """The fingerprint as `screener look` makes it: with the outline of the part."""
    found = [pair for pair in find_parts(gray) if pair.bore]
    return fingerprint(gray, found[0].outer.ellipse if found else None)


def say(*words: object, sep: str = " ") -> None:
    """Write a line."""
    sys.stdout.write(sep.join(map(str, words)) + "\n")


def measure_turns(pictures: list[Gray]) -> None:
    """Each photo against itself turned a little, and against all others so turned."""
    prints = [seen(p) for p in pictures]
    index = PrintIndex()
    index.add(prints)
    for degrees in TURNS_DEG:
        for name, left in LEFT.items():
            for scale in (1.0, 0.96):
                copies = [fingerprint(tilted(p, degrees, left, scale)) for p in pictures]
                found = [likeness(p, c) for p, c in zip(prints, copies, strict=True)]
                hits = sum(f.same_picture for f in found)
                near = sum(n in index.proposed(c)[:MOST_COMPARED] for n, c in enumerate(copies))
                bend = sum(not f.same_picture and f.bend_px > MAX_BEND_PX for f in found)
                few = sum(not f.blocks for f in found)
                low = sum(bool(f.blocks) and not f.same_picture and f.bend_px <= MAX_BEND_PX for f in found)
                says = f"{hits}/{len(found)} known, {near} proposed; missed: {bend} bent, {few} not laid, {low} unlike"
                say(f"{degrees:2} deg, corners {name}, size {scale:g}: {says}")
        copies = [fingerprint(tilted(p, degrees, 0)) for p in pictures]
        false = [(a, b) for a, b in permutations(range(len(prints)), 2) if likeness(prints[a], copies[b]).same_picture]
        say(f"{degrees:2} deg, corners black, of another photo: {len(false)} false {false or ''}")


def main() -> None:
    """Change, compare, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=ROOT / "samples" / "photos")
    parser.add_argument("--scenes", type=int, default=12)
    parser.add_argument("--like", type=int, default=50, help="pairs of like parts")
    parser.add_argument("--first-seed", type=int, default=950)
    parser.add_argument("--turns", action="store_true", help="only small turns")
    parser.add_argument("--drawn", type=int, default=0, help="so many drawn scenes instead of the folder's photos")
    options = parser.parse_args()
    files = sorted(options.folder.rglob("*.jpg"))
    pictures = [np.asarray(cv2.imread(str(p), cv2.IMREAD_GRAYSCALE)) for p in files]
    cv2.setNumThreads(1)
    if options.drawn:
        seeds = range(options.first_seed, options.first_seed + options.drawn)
        pictures = [_drawn(random_spec(np.random.default_rng(seed)), seed) for seed in seeds]
    if options.turns:
        measure_turns(pictures)
        return
    prints = [seen(p) for p in pictures]
    say(len(files), "photos,", sum(not p for p in prints), "without a fingerprint; longest", max(map(len, prints)))
    for name, change in CHANGES.items():
        found = [likeness(p, fingerprint(change(g))) for p, g in zip(prints, pictures, strict=True)]
        hits = [f.same_picture for f in found]
        misses = [f for f in found if not f.same_picture]
        if misses:
            say("   miss:", *misses[:4], sep="\n      ")
        low = np.percentile([f.fifth for f in found], 10), np.percentile([f.laid for f in found], 10)
        say(f"{name:38} {sum(hits)}/{len(hits)}  10 % have a lowest fifth < {low[0]:.3f}, laid < {low[1]:.0f}")
    began = time.process_time()
    pairs = [(a, b, likeness(prints[a], prints[b])) for a, b in combinations(range(len(prints)), 2)]
    spent = (time.process_time() - began) / max(1, len(pairs))
    say(len(pairs), "pairs,", f"{1000 * spent:.2f} ms each; false hits:")
    for a, b, found in pairs:
        if found.same_picture:
            say("  ", files[a].name, files[b].name, found)
    say("nearest miss by its lowest fifth:", max((f for *_, f in pairs if not f.same_picture), key=lambda f: f.fifth))
    large = cv2.resize(pictures[0], (4000, 3000))
    began = time.process_time()
    for _ in range(10):
        fingerprint(large)
    say(f"12 MP: {100 * (time.process_time() - began):.1f} ms")
    for seed in range(options.first_seed, options.first_seed + options.scenes):
        first, *others = [seen(g) for g in shots_again(seed)]
        for name, again in zip(
            ("same place", "0.5 deg", "1.5 deg", "3+2 deg", "turned 5", "6+10 deg"), others, strict=True
        ):
            found = likeness(first, again)
            if found.same_picture or found.fifth > 0.7:
                say("shot again", seed, name, "HIT" if found.same_picture else "miss", found)

    like = [likeness(*map(seen, like_parts(s))) for s in range(options.first_seed, options.first_seed + options.like)]
    told = sum(f.another_part for f in like)
    say(
        f"like parts, nothing moved: {sum(f.same_picture for f in like)}/{len(like)} taken for one picture, {told} told"
    )
    say("nearest:", *sorted(like, key=lambda f: -f.fifth)[:4], sep="\n   ")


if __name__ == "__main__":
    main()
