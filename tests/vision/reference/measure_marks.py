"""Print how often marks of one maker are told apart, and those of another setting or type face found, on drawn rings.

    python tests/vision/reference/measure_marks.py [--seed 400] [--pairs 24]

Each reference ring stands beside one of the same maker (same type face and setting; another light, size, place, noise
and turn), one that is set wider or closer by 12 to 25 %, and one in another type face. The words are given as a perfect
reading would, so that only the comparison of shapes is judged.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[3]
sys.path[:0] = [str(ROOT), str(ROOT / "samples"), str(ROOT / "tests")]

from vision.drawn_marks import DrawnFace, DrawnMark, draw  # noqa: E402

from screener.vision.marks.face_strip import straighten_face  # noqa: E402
from screener.vision.model import Mark  # noqa: E402
from screener.vision.reference.marks import Ring, compare_rings  # noqa: E402

FOLDER = Path("/usr/share/fonts/truetype")
FONTS = (
    "",
    "dejavu/DejaVuSerif.ttf",
    "dejavu/DejaVuSansMono.ttf",
    "liberation/LiberationSansNarrow-Regular.ttf",
    "liberation/LiberationSerif-Regular.ttf",
    "liberation/LiberationMono-Bold.ttf",
)
"""The first is Pillow's own; those that this machine lacks are left out."""
WORDS = ("BRENVOK", "TALQUIST", "ORSAMIL", "KEDRUNA", "VELMORT")


def ring(face: DrawnFace) -> Ring:
    """The drawn ring with its word where it was drawn."""
    (mark,) = face.marks
    gray, outer, bore = draw(face)
    strip = straighten_face(gray, outer, bore)
    columns = strip.levels.shape[1]
    middle = (1.02 - face.text_radius) * strip.radius_rows
    length = len(mark.text) * 0.8 * face.text_height * face.pitch / (face.text_radius * 2 * np.pi) * columns
    x0, half = mark.at_deg / 360 * columns, 0.75 * face.text_height * strip.radius_rows
    region = strip.photo_region(x0, middle - half, x0 + length, middle + half)
    return Ring(gray, outer, bore, (Mark(mark.text, "ring", 0.95, region),))


def faces(seed: int) -> dict[str, DrawnFace]:
    """A reference and three others."""
    rng = np.random.default_rng(seed)
    there = [str(FOLDER / f) if f else "" for f in FONTS if not f or (FOLDER / f).exists()]
    fonts = [there[n] for n in rng.permutation(len(there))]
    word = str(rng.choice(WORDS))

    def shot(base: DrawnFace) -> DrawnFace:
        return replace(
            base,
            marks=(DrawnMark(word, float(rng.uniform(0, 360))),),
            radius_px=float(rng.uniform(320, 420)),
            strength=float(rng.uniform(0.6, 0.95)),
            tilt_deg=float(rng.uniform(0, 20)),
            tilt_towards_deg=float(rng.uniform(0, 360)),
            blur_px=float(rng.uniform(0.4, 1.0)),
            noise=float(rng.uniform(1, 4)),
            glare=float(rng.uniform(0, 0.5)),
            seed=int(rng.integers(1 << 30)),
        )

    base = DrawnFace((), font=fonts[0], pitch=float(rng.uniform(1.0, 1.15)))
    wider = base.pitch * float(rng.choice([1, -1]) * rng.uniform(0.12, 0.25) + 1)
    return {
        "reference": shot(base),
        "same maker": shot(base),
        "another setting": shot(replace(base, pitch=wider)),
        "another type face": shot(replace(base, font=fonts[1])),
    }


def say(text: str) -> None:
    """Print a line."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> None:
    """Compare and count."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, default=400)
    parser.add_argument("--pairs", type=int, default=24)
    args = parser.parse_args()
    counted: Counter[tuple[str, str]] = Counter()
    for seed in range(args.seed, args.seed + args.pairs):
        reference, *others = ((name, ring(face)) for name, face in faces(seed).items())
        for name, other in others:
            done = compare_rings(reference[1], other)
            outcome = "not judged" if done.problem else ("differs" if done.words[0].differs else "no difference told")
            counted[name, outcome] += 1
            say(f"  {seed} {name}: {outcome} {[(w.least, w.least_alike, w.stretch) for w in done.words]}")
    for name, outcome in sorted(counted):
        say(f"{name:18} {outcome:20} {counted[name, outcome]} of {args.pairs}")


if __name__ == "__main__":
    main()
