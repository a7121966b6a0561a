"""Measure how even and uneven drawn marks are judged: ``python tests/vision/measure_evenness.py [--faces 100]``.

Not a test. Legible faces as in measure_drawn_marks.py (tilt to 32 degrees, blur to 1.1 px, all fonts of the machine).
Even ones (twice as many faces) count false alarms; the same faces made uneven in one way each count hits.
Faces whose letters were not all found apart are "not judged".
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from vision.drawn_marks import draw
from vision.measure_drawn_marks import any_face, fonts, jolted

from screener.screening.checks.marking_quality import is_odd
from screener.vision.marks import read_marks
from screener.vision.model import MarkEvenness
from screener.vision.text_engine import TextEngine

AMOUNTS = {"spacing": 0.14, "baseline": 0.08, "stroke": 0.35, "contrast": 0.35}


def odd_ways(seen: MarkEvenness) -> set[str]:
    """Return the ways in which a mark is surely uneven, by the limits of the screening check."""
    spreads = {name: getattr(seen, name) for name in AMOUNTS}
    return {n for n, m in spreads.items() if m is not None and is_odd(f"mark_{n}", m.value, m.u)}


def main() -> None:
    """Draw, judge, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=60)
    parser.add_argument("--first-seed", type=int, default=20_000)
    parser.add_argument("--values", action="store_true", help="print percentiles of each spread")
    options = parser.parse_args()
    engine, typefaces, counts, values = TextEngine(threads=1), fonts(), Counter(), {}
    for way in ("", *AMOUNTS):
        faces = options.faces if way else 2 * options.faces
        for seed in range(options.first_seed, options.first_seed + faces):
            _, face = any_face(seed, hard=False, typefaces=typefaces)
            gray, outer, bore = draw(replace(face, uneven=way, uneven_by=AMOUNTS.get(way, 0.0)))
            rng = np.random.default_rng(seed)
            seen = read_marks(gray, jolted(outer, rng), jolted(bore, rng), kind="bearing", engine=engine)
            odd = {name for each in seen.evenness for name in odd_ways(each)}
            counts[way, "judged" if seen.evenness else "not judged"] += 1
            counts[way, "odd"] += bool(odd)
            counts[way, "odd in two ways"] += len(odd) > 1
            if way:
                counts[way, "odd in the way drawn"] += way in odd
            for each in seen.evenness:
                for name in AMOUNTS:
                    if (measured := getattr(each, name)) is not None:
                        values.setdefault((way, name), []).append(measured.value)
    for (way, word), n in counts.items():
        sys.stdout.write(f"{way or 'even':9s} {word:22s} {n:4d}\n")
    for (way, name), numbers in values.items() if options.values else ():
        told = " ".join(f"{np.percentile(numbers, q):.3f}" for q in (10, 50, 90, 95, 98))
        sys.stdout.write(f"{way or 'even':9s} {name:9s} 10/50/90/95/98 %: {told}\n")


if __name__ == "__main__":
    main()
