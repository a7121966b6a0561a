"""Lamps over the bench, what polished steel mirrors of the room, and the light that gets past the parts."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.blocks import lookup
from drawing.surface import Array, Thing, dot, unit

MAP_PX = 257
MAP_REACH_RAD = np.radians(112)
ROOM_MM = 700.0
"""The mirrored room is painted on a sphere of this radius around the part, so that near lamps shift as they should."""
BLURS_RAD = (0.045, 0.16, 0.42)
KINDS = ("window", "tube", "lamp", "flash")


@dataclass(frozen=True, slots=True)
class Lamp:
    """A rectangle of light: middle, half-sides, colour times radiance."""

    kind: str
    middle: Array
    half_u: Array
    half_v: Array
    radiance: Array

    def points(self, steps: int) -> Array:
        """Middles (steps², 3) of equal cells of the rectangle."""
        share = (np.arange(steps) + 0.5) / steps * 2 - 1
        u, v = np.meshgrid(share, share)
        return (self.middle + u.reshape(-1, 1) * self.half_u + v.reshape(-1, 1) * self.half_v).astype(np.float32)

    @property
    def area(self) -> float:
        """Square millimetres."""
        return float(4 * np.linalg.norm(np.cross(self.half_u, self.half_v)))

    @property
    def normal(self) -> Array:
        """Unit normal towards the bench."""
        n = np.cross(self.half_u, self.half_v)
        n = n / np.linalg.norm(n)
        return n if n @ -self.middle > 0 else -n


SIZES = {  # half-sides (mm), distance range (mm), height angle range (deg), share of the light
    "window": ((260, 330), (900, 1400), (25, 55), 1.0),
    "tube": ((520, 22), (800, 1200), (55, 85), 1.0),
    "lamp": ((55, 55), (380, 650), (40, 75), 1.0),
    "flash": ((5, 5), (0, 0), (0, 0), 0.8),
}
TINTS = {
    "window": (0.92, 0.98, 1.1),
    "tube": (0.97, 1.04, 0.97),
    "lamp": (1.15, 0.98, 0.78),
    "flash": (1.02, 1.0, 0.97),
}


def make_lamp(kind: str, rng: np.random.Generator, eye_mm: Array) -> Lamp:
    """Place one lamp of a kind; it lights an empty bench at the origin with about one unit."""
    half, far, high, share = SIZES[kind]
    turn, angle = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(*high) if high[1] else 80)
    away = rng.uniform(*far) if far[1] else float(np.linalg.norm(eye_mm))
    middle = away * np.array([np.cos(turn) * np.cos(angle), np.sin(turn) * np.cos(angle), np.sin(angle)])
    if kind == "flash":
        middle = eye_mm + rng.normal(0, 4, 3) + np.array([12.0, 0, 6.0])
    toward = middle / np.linalg.norm(middle)
    side = np.cross(toward, [0, 0, 1.0])
    side = side / max(np.linalg.norm(side), 1e-6) if np.linalg.norm(side) > 1e-3 else np.array([1.0, 0, 0])
    lamp = Lamp(kind, middle, side * half[0], np.cross(toward, side) * half[1], np.ones(3))
    flux = lamp.area * toward[2] / float(middle @ middle)
    tint = np.array(TINTS[kind]) * rng.uniform(0.94, 1.06, 3)
    return Lamp(kind, lamp.middle, lamp.half_u, lamp.half_v, tint * share * rng.uniform(0.7, 1.2) / flux)


@dataclass(slots=True)
class Room:
    """Prefiltered pictures of the room in three sharpnesses and a cosine-weighted one, in azimuthal projection."""

    sharp: Array
    soft: Array
    broad: Array
    diffuse: Array

    def seen(self, which: str, point: Array, direction: Array) -> Array:
        """Light (n, 3) arriving at points from directions."""
        away = direction + point * np.float32(1 / ROOM_MM)
        away = unit(away)
        angle = np.arccos(np.clip(away[:, 2], -1, 1)) * np.float32((MAP_PX // 2) / MAP_REACH_RAD)
        flat = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-6)
        u, v = away[:, 0] / flat * angle + MAP_PX // 2, away[:, 1] / flat * angle + MAP_PX // 2
        return lookup(getattr(self, which), u, v)


def map_directions() -> Array:
    """Unit directions (MAP_PX, MAP_PX, 3) of the room map's pixels."""
    axis = (np.arange(MAP_PX) - MAP_PX // 2) / (MAP_PX // 2) * MAP_REACH_RAD
    x, y = np.meshgrid(axis, axis)
    angle = np.maximum(np.hypot(x, y), 1e-9)
    return np.stack([x / angle * np.sin(angle), y / angle * np.sin(angle), np.cos(angle)], axis=-1)


def make_room(lamps: list[Lamp], ambient: Array, bench_rgb: Array, rng: np.random.Generator) -> Room:
    """Paint walls, ceiling, bench and lamps, then blur."""
    way = map_directions()
    blobs = cv2.GaussianBlur(rng.random((MAP_PX, MAP_PX)).astype(np.float32), (0, 0), 14)
    blobs = (blobs - blobs.mean()) / max(float(blobs.std()), 1e-6)
    shade = np.clip(0.55 + 0.5 * way[..., 2] + 0.28 * blobs, 0.06, None)
    picture = shade[..., None] * ambient
    below = np.clip(-way[..., 2:] * 6, 0, 1)
    picture = picture * (1 - below) + bench_rgb * 0.55 * below
    for lamp in lamps:
        picture = picture + _lamp_picture(lamp, way)
    picture = picture.astype(np.float32)
    per_rad = (MAP_PX // 2) / MAP_REACH_RAD
    sharp, soft, broad = (cv2.GaussianBlur(picture, (0, 0), blur * per_rad) for blur in BLURS_RAD)
    return Room(sharp, soft, broad, _cosine(picture, way))


def _lamp_picture(lamp: Lamp, way: Array) -> Array:
    """Radiance of a lamp seen from the origin; smaller than a pixel it keeps its energy, not its size."""
    facing = -lamp.normal
    reach = (lamp.middle @ facing) / np.where(np.abs(way @ facing) < 1e-6, 1e-6, way @ facing)
    hit = way * reach[..., None] - lamp.middle
    u = hit @ lamp.half_u / (lamp.half_u @ lamp.half_u)
    v = hit @ lamp.half_v / (lamp.half_v @ lamp.half_v)
    fine = np.radians(2.2) * np.linalg.norm(lamp.middle)
    grow_u, grow_v = (max(1.0, fine / np.linalg.norm(h)) for h in (lamp.half_u, lamp.half_v))
    inside = np.clip((1.15 - np.abs(u) / grow_u) * 6, 0, 1) * np.clip((1.15 - np.abs(v) / grow_v) * 6, 0, 1)
    return (inside * (reach > 0))[..., None] * lamp.radiance / (grow_u * grow_v)


def _cosine(picture: Array, way: Array) -> Array:
    """Cosine-weighted light for each normal of the map, on a coarse grid, divided by pi."""
    small = cv2.resize(picture, (33, 33), interpolation=cv2.INTER_AREA).reshape(-1, 3)
    coarse = cv2.resize(way.astype(np.float32), (33, 33), interpolation=cv2.INTER_AREA).reshape(-1, 3)
    coarse /= np.linalg.norm(coarse, axis=1, keepdims=True)
    angle = np.arccos(np.clip(coarse[:, 2], -1, 1))
    weight = np.where(angle < MAP_REACH_RAD, np.sin(angle) / np.maximum(angle, 1e-3), 0)  # solid angle of a pixel
    cell = (2 * MAP_REACH_RAD / 33) ** 2
    gather = np.clip(coarse @ coarse.T, 0, None) * weight
    light = gather @ small * cell / np.pi
    return cv2.resize(light.reshape(33, 33, 3).astype(np.float32), (MAP_PX, MAP_PX), interpolation=cv2.INTER_CUBIC)


def bench_light(lamps: list[Lamp], ambient: Array, things: list[Thing], reach_mm: float, grid: int = 240) -> Array:
    """Light (grid, grid, 3) falling on the bench over ±reach_mm, with the shadows of the things."""
    axis = (np.arange(grid) + 0.5) / grid * 2 * reach_mm - reach_mm
    x, y = np.meshgrid(axis, axis)
    spots = np.stack([x.ravel(), y.ravel(), np.full(grid * grid, 0.02)], axis=1).astype(np.float32)
    total = np.zeros((len(spots), 3), np.float32)
    for lamp in lamps:
        steps = 2 if lamp.kind == "flash" else 4
        for point in lamp.points(steps):
            total += _from_point(spots, point, things)[:, None] * (lamp.radiance * lamp.area / steps**2).astype(
                np.float32
            )
    total += _sky(spots, things)[:, None] * ambient.astype(np.float32)
    return cv2.GaussianBlur(total.reshape(grid, grid, 3), (0, 0), 0.8)


def _from_point(spots: Array, point: Array, things: list[Thing]) -> Array:
    way = point - spots
    square = dot(way, way)
    way = way / np.sqrt(square)[:, None]
    return np.where(_blocked(spots, way, things), 0, way[:, 2] / square).astype(np.float32)


def _sky(spots: Array, things: list[Thing], count: int = 28) -> Array:
    """Share of a cosine-weighted sky seen from each spot."""
    turn = np.arange(count) * 2.399963
    sine = np.sqrt((np.arange(count) + 0.5) / count)
    ways = np.stack([sine * np.cos(turn), sine * np.sin(turn), np.sqrt(1 - sine**2)], axis=1).astype(np.float32)
    free = np.zeros(len(spots), np.float32)
    for way in ways:
        free += ~_blocked(spots, np.broadcast_to(way, spots.shape), things)
    return free / count


def _blocked(spots: Array, way: Array, things: list[Thing]) -> Array:
    dark = np.zeros(len(spots), bool)
    for thing in things:
        centre, radius = thing.bound()
        away = centre - spots
        along = dot(away, way)
        near = np.flatnonzero((dot(away, away) - along**2 < radius**2) & ~dark)
        if len(near):
            dark[near[thing.blocks(spots[near], way[near])]] = True
    return dark
