"""Traces of the making: turning marks, grinding haze, finger smears and small scratches on steel; dust on rubber."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.blocks import lookup
from drawing.surface import Array, Surface, unit

LINES = 4096


@dataclass(frozen=True, slots=True)
class Turning:
    """Concentric marks: a random line profile over the radius with a slow change around, and smears over it."""

    lines: Array
    smears: Array
    lines_per_mm: float
    depth: float
    haze: float

    def lay_into(self, seen: Surface, rows: Array, rho: Array, angle: Array) -> None:
        """Tilt normals along the groove direction a little and vary brightness."""
        u = rho * np.float32(self.lines_per_mm) % LINES
        wobble = (angle / (2 * np.pi) % 1) * self.lines.shape[0]
        line = lookup(self.lines, u, wobble, wrap=True)
        way = seen.groove[rows]
        seen.normal[rows] += unit(way) * (line * self.depth)[:, None]
        x, y = rho * np.cos(angle) * 8, rho * np.sin(angle) * 8
        smear = lookup(self.smears, x % self.smears.shape[1], y % self.smears.shape[0], wrap=True)
        seen.albedo[rows] *= (1 + self.haze * smear + 0.05 * line)[:, None]


def make_turning(px_per_mm: float, rng: np.random.Generator, *, depth: float, haze: float) -> Turning:
    """Marks fine enough to be seen at this scale, never finer than two pixels (they would shimmer)."""
    seed_rows = np.tile(rng.standard_normal((12, LINES)).astype(np.float32), (3, 1))
    around = cv2.resize(seed_rows, (LINES, 192), interpolation=cv2.INTER_CUBIC)[64:128]  # the middle third closes
    smears = cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), 9)
    smears += 0.8 * cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), 28) * 3
    _scratches(smears := smears / max(float(smears.std()), 1e-6), rng)
    return Turning(around, smears, float(np.clip(px_per_mm / 2.5, 1.0, 12.0)), depth, haze)


def _scratches(field: Array, rng: np.random.Generator) -> None:
    for _ in range(int(rng.integers(2, 14))):
        start = rng.integers(0, 512, 2)
        step = rng.normal(0, 40, 2)
        cv2.line(
            field, tuple(int(v) for v in start), tuple(int(v) for v in start + step), float(rng.choice([-3, 3])), 1
        )


@dataclass(frozen=True, slots=True)
class Dust:
    """Mould haze and dust on rubber."""

    field: Array

    def lay_into(self, seen: Surface, rows: Array, rho: Array, angle: Array) -> None:
        """Lighten by a fine random field."""
        x, y = rho * np.cos(angle) * 10, rho * np.sin(angle) * 10
        grain = lookup(self.field, x % 512, y % 512, wrap=True)
        seen.albedo[rows] += (np.clip(grain - 0.6, 0, None) * 0.004)[:, None]
        seen.normal[rows, :2] += (grain * 0.004)[:, None]


def make_dust(rng: np.random.Generator) -> Dust:
    """Make one random field."""
    field = cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), 1.4)
    return Dust(field / float(field.std()))
