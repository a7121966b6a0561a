"""Draw the sample delivery: ``python samples/make_samples.py [--out DIR] [--seed N] [--only PART_OF_PATH]``.

Writes order.csv and photos/ under DIR (by default this folder). The same seed gives the same pixels.
"""

from __future__ import annotations

import argparse
import csv
import sys
from dataclasses import astuple, fields, replace
from pathlib import Path

import numpy as np
from PIL import Image

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parent))

from delivery import ORDER, SHOTS, BoxShot, OrderLine, PartShot, Shot
from drawing.labels import LAYOUTS, box_top, draw_label
from drawing.scene import draw_scene
from drawing.scene_spec import BearingPart, CameraSpec, CartonPart, SceneSpec
from drawing.sizes import BEARINGS

CARTONS = ((205, 196, 182), (232, 232, 228), (176, 144, 106), (214, 222, 230))
TROUBLED = "This is a text file with the name of a photo.\n"


def scene_of(shot: Shot, rng: np.random.Generator) -> SceneSpec:
    """Turn a shot into a scene: where the clerk stood and what light there was."""
    if isinstance(shot, BoxShot):
        return _box_scene(shot, rng)
    if isinstance(shot, PartShot):
        return _part_scene(shot, rng)
    lying = (("pen", 5.0, -12.0), ("nut", 40.0, 30.0))
    blank = np.zeros((4, 4, 3), np.float32) + 0.2
    hidden = CartonPart((0.5, 0.5, 0.3), blank, (0.2, 0.2, 0.2))
    return SceneSpec(hidden, CameraSpec(220, 20), bench="wood", lights=("window", "tube"), clutter=lying)


def _box_scene(shot: BoxShot, rng: np.random.Generator) -> SceneSpec:
    layout = LAYOUTS[shot.layout]
    width, depth = layout.size_mm[0] + 12.0, layout.size_mm[1] + 10.0
    label = draw_label(shot.text, layout)
    picture = box_top(label, (width, depth), CARTONS[shot.layout % len(CARTONS)], float(rng.normal(0, 1.2)), rng)
    carton = CartonPart((width, depth, 32.0), picture, (0.45, 0.42, 0.37))
    camera = CameraSpec(
        distance_mm=(width + 22) * 42 / 36,
        tilt_deg=float(rng.uniform(4, 24)),
        azimuth_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.normal(0, 6)),
        focal_eq_mm=42.0,
        k1=float(rng.uniform(-0.02, 0.02)),
    )
    bench = str(rng.choice(["wood", "grey", "steel"]))
    lights = ("window", str(rng.choice(["tube", "lamp"])))
    finish = replace(shot.finish, exposure=1.3)  # a white label makes the meter shy
    return SceneSpec(carton, camera, finish, bench, lights)


def _part_scene(shot: PartShot, rng: np.random.Generator) -> SceneSpec:
    outer = BEARINGS[shot.part.base][1] if isinstance(shot.part, BearingPart) else shot.part.size[1]
    focal, card, aim, span = 42.0, None, (0.0, 0.0), outer * 1.75
    if shot.view == "card":
        far, turn = outer / 2 + 43.0, float(rng.normal(0, 0.12))
        card = (far, float(rng.normal(0, 4)), turn + float(rng.choice([0.0, np.pi])))
        aim, span = ((far + 41 - outer / 2) / 2, 0.0), outer + 100
    camera = CameraSpec(
        distance_mm=span * focal / 36,
        tilt_deg=shot.tilt_deg,
        azimuth_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.normal(0, 7) if card else rng.uniform(0, 360)),
        focal_eq_mm=focal,
        k1=float(rng.uniform(-0.03, 0.03)),
        aim_mm=aim,
    )
    bench = str(rng.choice(["wood", "grey", "cardboard", "steel"]))
    lights = ("window", *(str(v) for v in rng.choice(["tube", "lamp", "flash", "window"], size=rng.integers(0, 2))))
    return SceneSpec(shot.part, camera, shot.finish, bench, lights, card, _litter(rng, outer, card))


def _litter(rng: np.random.Generator, outer: float, card: object) -> tuple[tuple[str, float, float], ...]:
    """Put a washer or nut on the side away from the card now and then."""
    if rng.random() < 0.55 or card is None:
        return ()
    way = rng.uniform(2.2, 4.1)
    far = outer / 2 + rng.uniform(12, 25)
    return ((str(rng.choice(["washer", "nut", "disc"])), float(far * np.cos(way)), float(far * np.sin(way))),)


def draw_shot(shot: Shot, number: int, seed: int) -> np.ndarray:
    """Draw one photo, BGR; depends only on the shot, its number and the seed."""
    rng = np.random.default_rng([seed, number])
    picture, _ = draw_scene(scene_of(shot, rng), rng)
    return picture


def write_order(path: Path) -> None:
    """Write order.csv."""
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow([item.name for item in fields(OrderLine)])
        writer.writerows(astuple(line) for line in ORDER)


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path, default=Path(__file__).resolve().parent)
    ask.add_argument("--seed", type=int, default=2026)
    ask.add_argument("--only", default="", help="draw only photos whose path contains this")
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    write_order(given.out / "order.csv")
    troubled = given.out / "troubled" / "not_a_photo.jpg"
    troubled.parent.mkdir(exist_ok=True)
    troubled.write_text(TROUBLED, encoding="utf-8")
    for number, shot in enumerate(SHOTS):
        path = given.out / "photos" / shot.path
        if given.only not in shot.path:
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        Image.fromarray(draw_shot(shot, number, given.seed)[..., ::-1]).save(path, quality=80)
        print(f"{number + 1} of {len(SHOTS)} {shot.path}", flush=True)


if __name__ == "__main__":
    main()
