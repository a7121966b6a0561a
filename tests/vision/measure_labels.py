"""Measure label fields on ten drawn layouts in several type faces, turned and tilted.

    python tests/vision/measure_labels.py [--seed 500] [--fonts FOLDER_OR_FILE ...]

What a label states is the drawing's own list; the reader sees only the picture. Another seed gives labels that nobody
has looked at. Fonts that this machine lacks are left out and said so.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from vision.label_scenes import LAYOUTS, draw_label, photograph

from screener.vision.label import read_label
from screener.vision.text_engine import text_engine

TRUETYPE = Path("/usr/share/fonts/truetype")
FONTS = (
    "",
    "liberation/LiberationSans-Regular.ttf",
    "liberation/LiberationSerif-Regular.ttf",
    "liberation/LiberationMono-Bold.ttf",
    "liberation/LiberationSansNarrow-Bold.ttf",
    "dejavu/DejaVuSans-Bold.ttf",
)


def said(value: object) -> str:
    """Return a value as compared: no blanks, capitals, one sign for times."""
    return "".join(str(value).split()).replace("\u00d7", "x").upper()


def main() -> None:
    """Read every layout once in every font, at a tilt of its own, and print right, missing, wrong and invented."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=500)
    parser.add_argument("--fonts", type=int, default=len(FONTS), help="how many of the fonts")
    asked = parser.parse_args()
    cv2.setNumThreads(1)
    engine = text_engine()
    stated: Counter[str] = Counter()
    right: Counter[str] = Counter()
    invented = wrong = 0
    for place, font in enumerate(FONTS[: asked.fonts]):
        if font and not (TRUETYPE / font).exists():
            sys.stdout.write(f"{font} is not on this machine\n")
            continue
        for layout in range(len(LAYOUTS)):
            seed = asked.seed + 31 * place + layout
            rng = np.random.default_rng(seed)
            tilt_deg = float(rng.uniform(-25, 25)) + float(rng.choice([0, 0, 0, 90, 180, -90]))
            drawn = draw_label(layout, seed, str(TRUETYPE / font) if font else "")
            label = read_label(photograph(drawn.picture, seed, tilt_deg=tilt_deg), engine)
            fields = {} if label is None else {name: getattr(label.fields, name) for name, _ in label.field_lines}
            for name, value in drawn.truth.items():
                stated[name] += 1
                same = said(fields.get(name)) == said(value)
                right[name] += same
                wrong += not same and name in fields
                if not same:
                    sys.stdout.write(
                        f"  {font} layout {layout} {tilt_deg:.0f} deg {name}: {fields.get(name)!r} for {value!r}\n"
                    )
            for name in fields.keys() - drawn.truth.keys():
                invented += 1
                sys.stdout.write(f"  {font} layout {layout} {tilt_deg:.0f} deg INVENTED {name}: {fields[name]!r}\n")
            sys.stdout.flush()
    for name in stated:
        sys.stdout.write(f"{name:12} {right[name]:4} of {stated[name]}\n")
    total, of = sum(right.values()), sum(stated.values())
    sys.stdout.write(f"fields right {total} of {of} ({100 * total / of:.1f} %), wrong {wrong}, invented {invented}\n")


if __name__ == "__main__":
    main()
