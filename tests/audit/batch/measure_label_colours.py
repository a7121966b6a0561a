"""A planted colour among drawn labels: ``python tests/audit/batch/measure_label_colours.py [--units 60] [--seed 900]``.

Labels of one design, each photographed under its own light (`drawn_labels`), read by the real reader of labels. Told:
how each colour varies; in clean batches, what is called apart or a group; and what is found where one unit, or a tenth,
has its band in another colour, so far from the usual one in CIEDE2000. About a second a photo.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict, replace
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[3] / "samples"))

from audit.batch.drawn_labels import LAYOUTS, label_photo
from drawing.labels import Layout
from skimage.color import deltaE_ciede2000, rgb2lab

from screener.audit.batch.compare import compare_batch
from screener.audit.batch.features import unit_of
from screener.audit.batch.unit import Unit
from screener.vision.label import read_label
from screener.vision.text_engine import text_engine

DESIGNS = (0, 1, 4)


def read(seed: int, layout: Layout) -> Unit:
    label = read_label(label_photo(seed, layout)[0], text_engine())
    stored = {"record": seed, "run": 1, "item": str(seed), "requirement": "6205-2RS C3", "disposition": "accept"}
    return unit_of(stored, [{"label": asdict(label)}] if label else [])


def other_band(layout: Layout, apart: float, rng: np.random.Generator) -> Layout:
    """The design with its band so far (CIEDE2000, within a half) in another colour."""
    was = rgb2lab(np.array([[layout.band_rgb]], np.float64) / 255)
    while True:
        rgb = tuple(int(v) for v in np.clip(np.array(layout.band_rgb) + rng.integers(-60, 61, 3), 0, 255))
        if abs(deltaE_ciede2000(was, rgb2lab(np.array([[rgb]], np.float64) / 255))[0, 0] - apart) < 0.5:
            return replace(layout, band_rgb=rgb)


def told(units: list[Unit], planted: set[int]) -> str:
    (group,) = compare_batch(units).groups
    out = {group.units[each.unit].record for each in group.outliers if each.feature.startswith("colour.")}
    found = [{group.units[at].record for at in each.units} for each in group.clusters if "colours" in each.block]
    right = any(len(each ^ planted) <= 1 for each in found)
    return f"apart {len(out & planted)} of {len(planted)} planted, {len(out - planted)} others; groups {len(found)}" + (
        " (the planted one)" if planted and right else ""
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--units", type=int, default=60)
    parser.add_argument("--seed", type=int, default=900)
    given = parser.parse_args()
    cv2.setNumThreads(1)
    rng = np.random.default_rng(given.seed)
    for design in DESIGNS:
        layout = LAYOUTS[design]
        clean = [read(given.seed + 1000 * design + at, layout) for at in range(given.units)]
        (group,) = compare_batch(clean).groups
        for each in group.numbers:
            if each.feature.startswith("colour."):
                sys.stdout.write(f"  {each.feature}: n {each.count}, {each.middle:.1f}, spread {each.spread:.2f}\n")
        sys.stdout.write(f"design {design}, clean: {told(clean, set())}\n")
        for apart in (5.0, 7.0, 10.0, 14.0):
            other = other_band(layout, apart, rng)
            some = [read(unit.record, other) for unit in clean[: max(1, given.units // 10)]]
            one, tenth = {some[0].record}, {each.record for each in some}
            sys.stdout.write(f"  {apart:.0f} apart, one unit: {told([some[0], *clean[1:]], one)}\n")
            sys.stdout.write(f"  {apart:.0f} apart, a tenth: {told([*some, *clean[len(some) :]], tenth)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
