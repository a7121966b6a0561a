"""Print how many planted differences are found and how many good photos raise a false one, on drawn packages.

    python tests/vision/reference/measure_reference.py [--seed 9000] [--packages 24] [--good 3] [--family board]

Seeds below 5000 were looked at while the comparison was made; the default ones were not. Each reference is a careful
photo of one box, each new photo another box (another batch and date) under other light, tilt up to 30 degrees, camera,
blur and JPEG quality. *Found*: a difference of a fitting kind whose outline meets the planted one (its centre inside,
or intersection over union of 0.2). A good photo counts as false if it raises anything at all.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

ROOT = Path(__file__).parents[3]
sys.path[:0] = [str(ROOT), str(ROOT / "samples"), str(ROOT / "tests")]

import vision.reference.packages as drawn  # noqa: E402

from screener.codes.decode import read_codes  # noqa: E402
from screener.vision.reference.compare import Reference, compare, prepare  # noqa: E402
from screener.vision.reference.model import CodePlace, Compared, Difference  # noqa: E402
from screener.vision.text_engine import text_engine  # noqa: E402


def places(gray):
    return [CodePlace(c.symbology, c.corners_px) for c in read_codes(gray, thorough=False)]


def reference_of(seed: int, family: str = "carton") -> tuple[drawn.Package, Reference]:
    pack = drawn.package(seed, family=family)
    shot = drawn.photograph(pack, seed, easy=True)
    return pack, prepare(shot.rgb, text_engine(), places, width_mm=pack.width, product=pack.product)


def hits(planted: drawn.Planted, shot: drawn.Shot, difference: Difference) -> bool:
    """Whether a difference has a fitting kind and lies on a planted place."""
    if difference.kind not in planted.kinds_accepted:
        return False
    to_mm = np.linalg.inv(shot.panel_to_photo)
    outline = cv2.perspectiveTransform(np.array([difference.outline_photo_px]), to_mm)[0]
    left, top = outline.min(axis=0)
    right, bottom = outline.max(axis=0)
    return any(meets((left, top, right - left, bottom - top), box) for box in planted.boxes)


def meets(one: drawn.Box, two: drawn.Box) -> bool:
    cx, cy = one[0] + one[2] / 2, one[1] + one[3] / 2
    if two[0] - 1 <= cx <= two[0] + two[2] + 1 and two[1] - 1 <= cy <= two[1] + two[3] + 1:
        return True
    w = min(one[0] + one[2], two[0] + two[2]) - max(one[0], two[0])
    h = min(one[1] + one[3], two[1] + two[3]) - max(one[1], two[1])
    both = max(0.0, w) * max(0.0, h)
    return both / (one[2] * one[3] + two[2] * two[3] - both) >= 0.2


def told(result: Compared) -> str:
    return result.problem or "; ".join(
        f"{d.kind} {d.size:g} {d.unit} x{d.significance:g} [{d.says[:70]}]" for d in result.differences
    )


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, default=9000)
    parser.add_argument("--packages", type=int, default=24)
    parser.add_argument("--good", type=int, default=3, help="good photos for each package")
    parser.add_argument("--kinds", default=",".join(drawn.KINDS))
    parser.add_argument("--family", default="carton", choices=list(drawn.FAMILIES))
    parser.add_argument("--verbose", action="store_true")
    args = parser.parse_args()
    cv2.setNumThreads(1)
    found, tried, false, good, unlaid, extra, seconds = Counter(), Counter(), 0, 0, 0, 0, []
    for seed in range(args.seed, args.seed + args.packages):
        _, reference = reference_of(seed, args.family)
        for turn in range(args.good):
            shot = drawn.photograph(drawn.package(seed, batch_seed=1 + turn, family=args.family), seed * 50 + turn)
            start = time.perf_counter()
            result = compare(reference, shot.rgb, text_engine())
            seconds.append(time.perf_counter() - start)
            good += 1
            unlaid += result.laid is None
            false += bool(result.differences)
            if args.verbose and (result.differences or result.laid is None):
                say(f"  false {seed}/{turn}: {told(result)}")
        for number, kind in enumerate(k for k in args.kinds.split(",") if k):
            planted = drawn.plant(drawn.package(seed, batch_seed=9, family=args.family), kind, seed * 10 + number)
            shot = drawn.photograph(planted.package, seed * 50 + 20 + number)
            result = compare(reference, shot.rgb, text_engine())
            tried[kind] += 1
            ok = any(hits(planted, shot, d) for d in result.differences)
            found[kind] += ok
            extra += any(not any(meets_any(planted, shot, d)) for d in result.differences)
            if args.verbose and not ok:
                unseen = [g.says for g in result.not_judged]
                say(f"  missed {seed} {kind} {planted.boxes}: {told(result)} {unseen}")
        so_far = f"planted found {sum(found.values())} of {sum(tried.values())}, good photos false {false} of {good}"
        say(f"after {seed}: {so_far}")
    for kind in tried:
        say(f"{kind:15} {found[kind]:3} of {tried[kind]}")
    if tried:
        total, all_tried = sum(found.values()), sum(tried.values())
        say(f"planted found   {total} of {all_tried} ({100 * total / all_tried:.1f} %)")
        say(f"photos with a planted difference that also raise one elsewhere: {extra}")
    if good:
        say(f"good photos with a false difference: {false} of {good} ({100 * false / good:.1f} %); not laid: {unlaid}")
        say(f"seconds a comparison, median: {np.median(seconds):.2f}")


def meets_any(planted: drawn.Planted, shot: drawn.Shot, d: Difference) -> list[bool]:
    to_mm = np.linalg.inv(shot.panel_to_photo)
    outline = cv2.perspectiveTransform(np.array([d.outline_photo_px]), to_mm)[0]
    (left, top), (right, bottom) = outline.min(axis=0), outline.max(axis=0)
    return [meets((left, top, right - left, bottom - top), box) for box in planted.boxes]


if __name__ == "__main__":
    main()
