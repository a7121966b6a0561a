"""Groups found on drawn faces that the real reader has read: ``python tests/audit/batch/measure_drawn_faces.py``.

Faces of one designation, each under its own light, tilt, blur and noise; a tenth are marked by another process (another
typeface, higher letters, wider set, paler). Printed: how each number varies, and what the comparison finds with and
without the second process. About a second a face.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.audit.batch.clusters import find_clusters
from screener.audit.batch.columns import columns_of
from screener.audit.batch.features import unit_of
from screener.audit.batch.unit import Unit
from screener.looking.look import look
from screener.looking.reading import as_json

WORDS = ("TILBRIX", "6205-2RS", "M47")


def face(number: int, *, other: bool) -> DrawnFace:
    """Return one face; only what the process sets differs between the two."""
    rng = np.random.default_rng(9000 + number)
    start = rng.uniform(0, 360)
    marks = tuple(DrawnMark(word, (start + 120 * at + rng.normal(0, 2)) % 360) for at, word in enumerate(WORDS))
    one = DrawnFace(
        marks,
        radius_px=rng.uniform(330, 400),
        bore_share=0.4808,
        text_height=0.062 * rng.normal(1, 0.015),
        pitch=1.05 * rng.normal(1, 0.015),
        strength=float(np.clip(rng.normal(0.85, 0.04), 0.5, 1)),
        tilt_deg=rng.uniform(0, 20),
        tilt_towards_deg=rng.uniform(0, 360),
        blur_px=rng.uniform(0.3, 0.9),
        noise=rng.uniform(1, 3),
        closure="rubber_seal",
        glare=rng.uniform(0, 0.4),
        seed=number,
    )
    if not other:
        return one
    return replace(one, text_height=one.text_height * 1.15, pitch=one.pitch * 1.25, strength=one.strength * 0.75)


def read(number: int, folder: Path, *, other: bool) -> Unit:
    """Draw a face, read it as a photo and return it as a unit."""
    photo, _, _ = draw(face(number, other=other))
    path = folder / f"{number}.png"
    cv2.imwrite(str(path), photo)
    seen = as_json(look(path))
    stored = {"record": number, "run": 1, "item": str(number), "requirement": "6205-2RS", "disposition": "accept"}
    return unit_of(stored, [seen])


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--units", type=int, default=60)
    parser.add_argument("--planted", type=int, default=6)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        clean = [read(number, Path(folder), other=False) for number in range(given.units)]
        planted = [read(number, Path(folder), other=True) for number in range(given.planted)]
    for title, units in (("clean", clean), ("planted", [*planted, *clean[given.planted :]])):
        columns = columns_of(units, 3)
        found, tested = find_clusters(columns, units)
        sys.stdout.write(f"{title}: {[(each.block, each.features, round(each.p, 4)) for each in tested]}\n")
        for each in found:
            sys.stdout.write(f"  group {each.units}: {each.says}\n")
        for column in columns:
            sys.stdout.write(f"  {column.feature}: n {len(column.units)}, spread {column.spread:.3f}\n")


if __name__ == "__main__":
    main()
