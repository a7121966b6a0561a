"""Draw one photo of a part on a bench, with the truth about it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.bench import Bench, make_bench
from drawing.blocks import lookup
from drawing.camera import Camera, look_at
from drawing.card import PLANE_Z_MM, Card, card_picture
from drawing.finish import develop
from drawing.lighting import Room, bench_light, make_lamp, make_room
from drawing.parts import ball_count, bearing_things, carton_things, clutter_thing, seal_things, shape_of
from drawing.profiles import SealShape
from drawing.scene_spec import BearingPart, CartonPart, SceneSpec, SealPart
from drawing.shading import shade
from drawing.surface import MISS, Array, Thing, blank
from drawing.truth import label_of

CHUNK = 400_000
INSIDE_PIXEL = ((0.0, 0.0), (-0.15, -0.38), (0.38, -0.15), (0.15, 0.38), (-0.38, 0.15))


@dataclass(slots=True)
class Stage:
    """Everything a ray needs."""

    eye: Array
    things: list[Thing]
    bench: Bench
    card: Card | None
    room: Room
    light: Array
    reach_mm: float
    """The light's map covers ± this much around the origin."""

    def colour(self, direction: Array) -> Array:
        """Linear RGB (n, 3) along rays from the eye."""
        picture = self._bench_colour(direction)
        best = np.full(len(direction), MISS, np.float32)
        whose, pieces = np.full(len(direction), -1, np.int16), np.zeros(len(direction), np.int16)
        for number, thing in enumerate(self.things):
            self._meet(thing, number, direction, best, whose, pieces)
        rows = np.flatnonzero(whose >= 0)
        if len(rows):
            picture[rows] = self._thing_colour(rows, direction[rows], best[rows], whose[rows], pieces[rows])
        return picture

    def _meet(self, thing: Thing, number: int, direction: Array, best: Array, whose: Array, pieces: Array) -> None:
        centre, radius = thing.bound()
        away = centre - self.eye
        along = direction @ away.astype(np.float32)
        near = np.flatnonzero(float(away @ away) - along**2 < radius**2)
        if not len(near):
            return
        origin = np.broadcast_to(self.eye.astype(np.float32), (len(near), 3))
        t, piece = thing.meet(origin, direction[near])
        closer = np.isfinite(t) & (t > 0) & (t < best[near])
        rows = near[closer]
        best[rows], whose[rows], pieces[rows] = t[closer], number, piece[closer]

    def _thing_colour(self, rows: Array, direction: Array, t: Array, whose: Array, pieces: Array) -> Array:
        point = self.eye.astype(np.float32) + direction * t[:, None]
        seen = blank(len(rows))
        for number in np.unique(whose):
            mine = np.flatnonzero(whose == number)
            seen.put(mine, self.things[number].surface(point[mine], pieces[mine]))
        return shade(seen, direction, self.room)

    def _bench_colour(self, direction: Array) -> Array:
        down = np.minimum(direction[:, 2], -1e-3)
        point = self.eye.astype(np.float32) + direction * (np.float32(-self.eye[2]) / down)[:, None]
        albedo = self.bench.colour(point)
        if self.card is not None:
            lifted = point + direction * (np.float32(PLANE_Z_MM) / down)[:, None]
            sheet = self.card.on_sheet(lifted)
            on = self.card.covers(sheet)
            albedo[on] = self.card.colour(sheet[on])
        return albedo * self._light_at(point)

    def _light_at(self, point: Array) -> Array:
        grid = self.light.shape[0]
        u = (point[:, 0] / np.float32(self.reach_mm) + 1) / 2 * grid - 0.5
        v = (point[:, 1] / np.float32(self.reach_mm) + 1) / 2 * grid - 0.5
        return lookup(self.light, u, v)


def build_camera(spec: SceneSpec, aim_z_mm: float) -> Camera:
    """Camera of a scene; it looks at ``aim_mm`` at the height of the part's top."""
    see = spec.camera
    return look_at(
        width_px=spec.width_px,
        height_px=spec.height_px,
        focal_px=see.focal_eq_mm / 36 * spec.width_px,
        target_mm=np.array([*see.aim_mm, aim_z_mm]),
        distance_mm=see.distance_mm,
        tilt_deg=see.tilt_deg,
        azimuth_deg=see.azimuth_deg,
        roll_deg=see.roll_deg,
        k1=see.k1,
    )


def part_height(spec: SceneSpec) -> float:
    """Millimetres from the bench to the part's top."""
    if isinstance(spec.part, BearingPart):
        return shape_of(spec.part).width_mm
    return SealShape(*spec.part.size).width_mm if isinstance(spec.part, SealPart) else spec.part.size_mm[2]


def draw_scene(spec: SceneSpec, rng: np.random.Generator) -> tuple[Array, dict[str, object]]:
    """Draw a scene: the 8-bit BGR picture and its label (the format of the labelled-photos folder)."""
    camera = build_camera(spec, part_height(spec))
    px_per_mm = camera.focal_px / spec.camera.distance_mm
    things, cap_mm = _part_things(spec, px_per_mm, rng)
    balls = ball_count(things)
    things += [clutter_thing(kind, x, y, rng) for kind, x, y in spec.clutter]
    stage = _stage(spec, camera, things, rng)
    picture = develop(_traced(stage, camera), spec.finish, rng)
    return picture, label_of(spec, camera, stage.card, cap_mm, balls)


def _part_things(spec: SceneSpec, px_per_mm: float, rng: np.random.Generator) -> tuple[list[Thing], float]:
    if isinstance(spec.part, BearingPart):
        return bearing_things(spec.part, px_per_mm, rng)
    if isinstance(spec.part, SealPart):
        return seal_things(spec.part, px_per_mm, rng)
    assert isinstance(spec.part, CartonPart)  # noqa: S101  (the union is closed)
    return carton_things(spec.part, 0.0), 0.0


def _stage(spec: SceneSpec, camera: Camera, things: list[Thing], rng: np.random.Generator) -> Stage:
    eye = camera.position_mm
    lamps = [make_lamp(kind, rng, eye) for kind in spec.lights]
    ambient = np.array((1.0, 1.0, 1.0)) * rng.uniform(0.12, 0.42) * rng.uniform(0.95, 1.05, 3)
    bench = make_bench(spec.bench, rng)
    room = make_room(lamps, ambient, bench.mean, rng)
    reach = seen_reach(camera)
    light = bench_light(lamps, ambient, things, reach)
    card = Card(np.array(spec.card[:2]), spec.card[2], card_picture()) if spec.card else None
    return Stage(eye, things, bench, card, room, light, reach)


def seen_reach(camera: Camera) -> float:
    """How far from the origin the picture shows the bench, in mm, at most 400."""
    corners = camera.rays(np.array([0.0, camera.width_px] * 2), np.array([0.0, 0.0, *[camera.height_px] * 2]))
    eye = camera.position_mm
    spots = eye + corners * (-eye[2] / np.minimum(corners[:, 2], -1e-3))[:, None]
    return float(np.clip(np.abs(spots[:, :2]).max(), 30, 400))


def _traced(stage: Stage, camera: Camera) -> Array:
    """One ray a pixel, then five in place of each pixel that differs from a neighbour."""
    width, height = camera.width_px, camera.height_px
    y, x = np.divmod(np.arange(width * height), width)
    flat = np.concatenate(
        [
            stage.colour(camera.rays(x[i : i + CHUNK].astype(float), y[i : i + CHUNK].astype(float)))
            for i in range(0, width * height, CHUNK)
        ]
    )
    edge = np.flatnonzero(_busy(flat.reshape(height, width, 3)).ravel())
    for i in range(0, len(edge), CHUNK // len(INSIDE_PIXEL)):
        rows = edge[i : i + CHUNK // len(INSIDE_PIXEL)]
        fine = sum(np.minimum(stage.colour(camera.rays(x[rows] + dx, y[rows] + dy)), 8.0) for dx, dy in INSIDE_PIXEL)
        flat[rows] = fine / len(INSIDE_PIXEL)
    return flat.reshape(height, width, 3).astype(np.float32)


def _busy(picture: Array) -> Array:
    """Pixels whose neighbourhood spans more than a tenth of its own brightness."""
    grey = np.sqrt(np.maximum(picture.mean(axis=2), 0))
    square = np.ones((3, 3), np.uint8)
    span = cv2.dilate(grey, square) - cv2.erode(grey, square)
    return span > 0.10 * cv2.blur(grey, (9, 9)) + 0.01
