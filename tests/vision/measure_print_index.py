"""Measure the index of pictures: ``python tests/vision/measure_print_index.py [--photos 1000] [--others DIR]``.

Not a test. Copies of the sample photos are asked for among ``--photos`` other pictures: cuts and perspective warps,
half of them mirrored, of the photos in ``--others``. Printed: copies that comparing with the true photo finds, and how
many of those the index proposes among the photos that are compared; time for a question and for comparing; size.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import cv2
import numpy as np
from measure_fingerprint import CHANGES, ROOT, Gray, say

from screener.receiving.same_pictures import MOST_COMPARED, SamePictures
from screener.vision.fingerprint import fingerprint, likeness
from screener.vision.print_index import PrintIndex


def warped(gray: Gray, rng: np.random.Generator) -> Gray:
    """A picture that shares corners with another, but is none of its copies: cut, seen askew, half of them mirrored."""
    height, width = gray.shape
    kept, corners = rng.uniform(0.35, 0.8), np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float)
    seen = rng.uniform(0, 1 - kept, 2) + kept * corners + rng.uniform(-0.08, 0.08, (4, 2))
    if rng.random() < 0.5:
        seen = seen[[1, 0, 3, 2]]
    lens = cv2.getPerspectiveTransform(np.float32(seen * (width, height)), np.float32(corners * (800, 600)))
    picture = cv2.warpPerspective(gray, lens, (800, 600), borderMode=cv2.BORDER_REFLECT) * rng.uniform(0.8, 1.2)
    return np.clip(picture + rng.normal(0, 3, picture.shape), 0, 255).astype(np.uint8)


def main() -> None:
    """Fill, ask, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=1000, help="other pictures in the index")
    parser.add_argument("--others", type=Path, default=ROOT.parent / "shared" / "photos", help="what they are made of")
    options = parser.parse_args()
    cv2.setNumThreads(1)
    pictures = [np.asarray(cv2.imread(str(p), 0)) for p in sorted((ROOT / "samples" / "photos").rglob("*.jpg"))]
    bases = [np.asarray(cv2.imread(str(p), 0)) for p in sorted(options.others.glob("*.jpg"))] or pictures
    bases = [cv2.resize(g, None, fx=1200 / max(g.shape), fy=1200 / max(g.shape), interpolation=3) for g in bases]
    rng = np.random.default_rng(3)
    others = [fingerprint(warped(bases[rng.integers(len(bases))], rng)) for _ in range(options.photos)]
    prints = [fingerprint(g) for g in pictures]
    index = PrintIndex()
    began = time.process_time()
    index.add([*prints, *others])
    spent = time.process_time() - began
    say(f"{len(index)} pictures taken in in {spent:.2f} s; {index.size_bytes / len(index):.0f} bytes each")
    asked = []
    for name, change in CHANGES.items():
        found = proposed = 0
        for number, (text, picture) in enumerate(zip(prints, pictures, strict=True)):
            copy = fingerprint(change(picture))
            began = time.process_time()
            near = index.proposed(copy)[:MOST_COMPARED]
            asked.append(time.process_time() - began)
            if likeness(text, copy).same_picture:
                found += 1
                proposed += number in near
        say(f"{name:38} {proposed} of {found}")
    say(f"a question: {1000 * np.median(asked):.1f} ms")
    delivery = {f"{number:064x}": text for number, text in enumerate([*prints, *others])}
    began = time.process_time()
    SamePictures.among(delivery)
    spent = time.process_time() - began
    say(f"all {len(delivery)} asked and compared: {spent:.1f} s, {1000 * spent / len(delivery):.1f} ms a photo")


if __name__ == "__main__":
    main()
