"""Light leaving a surface towards the camera."""

from __future__ import annotations

import numpy as np

from drawing.lighting import Room
from drawing.surface import Array, Surface, dot, unit

TAPS = np.array([-1.9, -1.1, -0.5, 0.0, 0.5, 1.1, 1.9], np.float32)
WEIGHTS = np.exp(-0.5 * TAPS**2) / np.exp(-0.5 * TAPS**2).sum()


def reflected(direction: Array, normal: Array) -> Array:
    """Mirror directions at normals."""
    return direction - (2 * dot(direction, normal))[:, None] * normal


def shade(seen: Surface, direction: Array, room: Room) -> Array:
    """Linear RGB (n, 3) of surface points seen along ``direction``.

    Metal mirrors the room, spread across its turning marks by seven tilted normals; other materials scatter what the
    whole sky gives and mirror a little more at grazing view (Schlick's approximation).
    """
    normal = unit(seen.normal)
    colour = np.zeros_like(seen.albedo)
    metal = np.flatnonzero(seen.metal > 0.02)
    if len(metal):
        colour[metal] += seen.metal[metal, None] * _metal(seen, metal, normal[metal], direction[metal], room)
    other = np.flatnonzero(seen.metal < 0.98)
    if len(other):
        colour[other] += (1 - seen.metal[other, None]) * _other(seen, other, normal[other], direction[other], room)
    return colour


def _metal(seen: Surface, rows: Array, normal: Array, direction: Array, room: Room) -> Array:
    point, groove = seen.point[rows], seen.groove[rows]
    fan = np.zeros_like(normal)
    for tap, weight in zip(TAPS, WEIGHTS, strict=True):
        lean = unit(normal + groove * tap)
        fan += np.float32(weight) * room.seen("sharp", point, reflected(direction, lean))
    haze = room.seen("broad", point, reflected(direction, normal))
    openness = seen.openness[rows, None]
    return seen.albedo[rows] * (0.72 * fan + 0.28 * haze) * (openness * (0.35 + 0.65 * openness))


def _other(seen: Surface, rows: Array, normal: Array, direction: Array, room: Room) -> Array:
    point, openness = seen.point[rows], seen.openness[rows, None]
    facing = np.clip(-dot(direction, normal), 0, 1)
    mirror = (0.04 + 0.96 * (1 - facing) ** 5 * 0.6) * seen.gloss[rows]
    bounce = reflected(direction, normal)
    shine = 0.5 * room.seen("soft", point, bounce) + 0.5 * room.seen("broad", point, bounce)
    scatter = seen.albedo[rows] * room.seen("diffuse", point, normal)
    return (scatter + mirror[:, None] * shine * openness) * openness
