"""Draw single parts close up, in far more shapes and lights than a shop has, as training pictures for the ring edges.

``python tests/training/scenes.py --out DIR --seed 11 --seconds 300 --workers 16`` draws until the time is up. Each
worker writes DIR/NUMBER.npz with ``pictures`` (n, SIDE_PX, SIDE_PX, 3) uint8 RGB and ``circles`` (n, 4, 5): for each of
`CIRCLES` the ellipse cx, cy, a, b, angle_deg in pixels, exact by projection. Picture k of worker w of seed s is always
the same. The shapes are made up (not the table's sizes), so that no standard size is learned by heart.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path
from unittest import mock

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "samples"))

import drawing.parts as drawn_parts
from drawing import random_scenes, sizes
from drawing import scene as drawn_scene
from drawing.lighting import Room
from drawing.profiles import BearingShape, Profile
from drawing.scene import Stage, draw_scene
from drawing.scene_spec import BearingPart, CameraSpec, SceneSpec, SealPart

SIDE_PX = 480
CIRCLES = ("od_full", "od_top_edge", "bore_top_edge", "bore_full")


@dataclass(frozen=True, slots=True)
class VariedShape(BearingShape):
    """A bearing whose lands, balls and chamfers are not those of one maker."""

    inner_land: float = 0.345
    outer_land: float = 0.69
    bevel: float = 0.0
    """0: chamfers are quarter circles; 1: flat at 45 degrees."""

    @property
    def inner_shoulder(self) -> float:
        """Outside radius of the inner ring's face."""
        return self.inner + self.inner_land * self.section

    def outer_shoulder(self, *, closed: bool) -> float:
        """Inside radius of the outer ring's face."""
        return self.inner + (self.outer_land + (0.06 if closed else 0.0)) * self.section


def varied_shape(rng: np.random.Generator) -> VariedShape:
    """Make up the dimensions of a bearing, in mm."""
    bore = float(np.exp(rng.uniform(math.log(6), math.log(55))))
    outside = bore / float(rng.uniform(0.27, 0.72))
    width = float(np.clip((outside - bore) / 2 * rng.uniform(0.75, 1.5), 0.18 * bore, 1.2 * bore + 3))
    chamfer = float(np.clip(rng.normal(0.037, 0.012), 0.014, 0.07)) * outside / 2
    chamfer = min(chamfer, 0.2 * (outside - bore) / 2, 0.3 * width)
    return VariedShape(
        bore, outside, width, chamfer,
        float(rng.uniform(0.30, 0.40)), float(rng.uniform(0.63, 0.74)),
        0.0 if rng.random() < 0.55 else float(rng.uniform(0.3, 1.0)),
    )  # fmt: skip


def _chamfer(ring: Profile, r: float, z: float, bevel: float, *, rising_first: bool) -> None:
    """A chamfer between a quarter circle and a flat bevel, with the normals of its own facets where it is flat."""
    if bevel == 0.0:
        ring.round_to(r, z, rising_first=rising_first)
        return
    (r0, z0), steps = ring.at, 4
    power = 2.0 / (2.0 - bevel)  # of the superellipse: 1 is the circle's own angle, 2 the straight line
    for step in range(1, steps + 1):
        turn = math.pi / 2 * step / steps
        away, along = 1 - math.cos(turn) ** power, math.sin(turn) ** power
        share_r, share_z = (away, along) if rising_first else (along, away)
        ring.to(r0 + (r - r0) * share_r, z0 + (z - z0) * share_z)


def varied_outer_ring(shape: VariedShape, *, closed: bool) -> Profile:
    """Outside wall, chamfer, face and inner wall of the outer ring."""
    c, top, edge = shape.chamfer_mm, shape.width_mm, 0.025 * shape.section
    land = shape.outer_shoulder(closed=closed)
    ring = Profile((shape.outer, c), "od_wall", openness=0.45)
    ring.to(shape.outer, top - c, openness=0.9)
    ring.openness, ring.material = 1.0, "ring"
    _chamfer(ring, shape.outer - c, top, shape.bevel, rising_first=True)
    ring.to(land + edge, top)
    ring.to(land, top - edge, openness=0.7)
    return ring


def varied_inner_ring(shape: VariedShape) -> Profile:
    """Shoulder wall, face, chamfer and bore of the inner ring."""
    c, top, edge = shape.chamfer_mm, shape.width_mm, 0.02 * shape.section
    ring = Profile((shape.inner_shoulder, top * 0.55), "ring_dark", openness=0.15)
    ring.to(shape.inner_shoulder, top - edge, openness=0.7)
    ring.to(shape.inner_shoulder - edge, top, openness=1.0, material="inner_ring")
    ring.to(shape.inner + c, top)
    _chamfer(ring, shape.inner, top - c, shape.bevel, rising_first=False)
    ring.openness = 0.75
    ring.to(shape.inner, 0.0, openness=0.28, material="bore_wall")
    return ring


@dataclass(slots=True)
class RoomOnBench:
    """A room in which steel mirrors the very bench that lies beside it, shadows included.

    Looking down, a rounded chamfer leans by more than 45 degrees over its last third, and mirrors the bench there: its
    outer end then looks much like what lies behind it, and only the rest of the chamfer tells where it must end.
    """

    room: Room
    stage: Stage
    gain: float

    def seen(self, which: str, point: np.ndarray, direction: np.ndarray) -> np.ndarray:
        """Light (n, 3) arriving at points from directions."""
        light = self.room.seen(which, point, direction)
        if which == "diffuse":
            return light
        down = np.flatnonzero((direction[:, 2] < -0.02) & (point[:, 2] > 0))
        way = point[down, 2] / -direction[down, 2]
        spot = point[down] + direction[down] * way[:, None]
        near = np.abs(spot[:, :2]).max(axis=1, initial=0.0) < self.stage.reach_mm if len(spot) else np.zeros(0, bool)
        down, spot = down[near], spot[near]
        share = np.clip(-direction[down, 2:] / 0.12, 0, 1) * (1.0 if which == "sharp" else 0.6)
        bench = self.stage.bench.colour(spot) * self.stage._light_at(spot) * np.float32(self.gain)
        light[down] = light[down] * (1 - share) + bench * share
        return light


_plain_stage = drawn_scene._stage


def _stage_on_bench(spec: SceneSpec, camera: object, things: list, rng: np.random.Generator) -> Stage:
    stage = _plain_stage(spec, camera, things, rng)
    if rng.random() < 0.8:
        stage.room = RoomOnBench(stage.room, stage, float(rng.uniform(0.6, 1.1)))
    return stage


def close_up(rng: np.random.Generator) -> tuple[SceneSpec, VariedShape]:
    """A scene of `random_scenes` whose camera frames the part alone, and the shape that its bearing takes."""
    spec, shape = random_scenes.random_spec(rng), varied_shape(rng)
    if isinstance(spec.part, SealPart):
        size = sizes.SEALS[rng.integers(len(sizes.SEALS))]
        part: BearingPart | SealPart = replace(spec.part, size=size)
        outside = float(size[1])
    else:
        part, outside = spec.part, shape.od_mm
    radius_px = float(np.exp(rng.uniform(math.log(75), math.log(215))))
    distance = outside * float(np.exp(rng.uniform(math.log(1.3), math.log(8.0))))
    focal_px = radius_px * distance / (outside / 2)
    room_mm = max(SIDE_PX / 2 - radius_px * 1.08, 0.0) / radius_px * outside / 2
    tilt = float(rng.uniform(0, 14) if rng.random() < 0.6 else rng.uniform(8, 42))
    camera = CameraSpec(
        distance, tilt, float(rng.uniform(0, 360)), float(rng.uniform(0, 360)), focal_px / SIDE_PX * 36, 0.0,
        (float(rng.uniform(-1, 1) * room_mm * 0.7), float(rng.uniform(-1, 1) * room_mm * 0.7)),
    )  # fmt: skip
    clutter = tuple((kind, x * outside / 40, y * outside / 40) for kind, x, y in spec.clutter)
    spec = replace(
        spec, part=part, camera=camera, card=None, clutter=clutter, width_px=SIDE_PX, height_px=SIDE_PX,
        finish=replace(spec.finish, motion_px=spec.finish.motion_px * 0.6),
    )  # fmt: skip
    return spec, shape


def draw_close_up(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Picture (SIDE_PX, SIDE_PX, 3) RGB, compressed as a phone does, and its circles (4, 5)."""
    spec, shape = close_up(rng)
    with (
        mock.patch("drawing.parts.shape_of", return_value=shape),
        mock.patch("drawing.truth.shape_of", return_value=shape),
        mock.patch("drawing.scene.shape_of", return_value=shape),
        mock.patch.object(drawn_scene, "_stage", _stage_on_bench),
        mock.patch.object(drawn_parts, "outer_ring", varied_outer_ring),
        mock.patch.object(drawn_parts, "inner_ring", varied_inner_ring),
    ):
        picture, label = draw_scene(spec, rng)
    _, coded = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, spec.finish.jpeg_quality])
    picture = cv2.imdecode(coded, cv2.IMREAD_COLOR)
    ellipses = label["ellipses_px"]
    circles = [[ellipses[name][key] for key in ("cx", "cy", "a", "b", "angle_deg")] for name in CIRCLES]
    return np.ascontiguousarray(picture[..., ::-1]), np.array(circles, np.float32)


def draw_until(worker: int, seed: int, seconds: float, out: Path) -> int:
    """One worker's share."""
    cv2.setNumThreads(1)
    ends, pictures, circles = time.time() + seconds, [], []
    number = 0
    while time.time() < ends:
        try:
            picture, where = draw_close_up(np.random.default_rng([seed, worker, number]))
        except (ValueError, cv2.error, FloatingPointError) as fault:  # a made-up shape that cannot be drawn
            print(f"{worker}/{number}: {fault}", flush=True)
        else:
            pictures.append(picture)
            circles.append(where)
        number += 1
    np.savez(out / f"{worker:03d}.npz", pictures=np.array(pictures), circles=np.array(circles))
    return len(pictures)


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=11)
    ask.add_argument("--seconds", type=float, default=300)
    ask.add_argument("--workers", type=int, default=16)
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    with multiprocessing.Pool(given.workers) as pool:
        jobs = [(w, given.seed, given.seconds, given.out) for w in range(given.workers)]
        print("pictures:", sum(pool.starmap(draw_until, jobs)))


if __name__ == "__main__":
    main()
