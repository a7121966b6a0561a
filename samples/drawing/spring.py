"""The garter spring of a shaft seal: a torus whose surface is wound wire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drawing.profiles import SealShape
from drawing.surface import MISS, Array, Surface, unit


@dataclass(frozen=True, slots=True)
class GarterSpring:
    """A thin torus lying in the spring groove; wound wire is a ripple of its normals along the ring."""

    seal: SealShape
    turns_per_mm: float

    @property
    def ring_radius(self) -> float:
        """Radius of the torus' middle line."""
        return self.seal.lip + 0.40 * (self.seal.outer - self.seal.lip)

    @property
    def wire_radius(self) -> float:
        """Radius of the coil."""
        return 0.085 * (self.seal.outer - self.seal.lip)

    @property
    def height(self) -> float:
        """Height of the middle line above the bench."""
        return self.seal.width_mm * 0.80

    def bound(self) -> tuple[Array, float]:
        """Give a sphere around the ring."""
        return np.array([0, 0, self.height], np.float32), self.ring_radius + 2 * self.wire_radius

    def meet(self, origin: Array, direction: Array) -> tuple[Array, Array]:
        """Sphere tracing: twenty steps along each ray that comes near, enough for a body seen from above."""
        t = (np.float32(self.height + self.wire_radius) - origin[:, 2]) / direction[:, 2]
        rows = np.flatnonzero(self._distance(origin + t[:, None] * direction) < 6 * self.wire_radius)
        out = np.full(len(t), MISS, np.float32)
        along, o, d = t[rows], origin[rows], direction[rows]
        for _ in range(20):
            along = along + np.clip(self._distance(o + along[:, None] * d), -0.2, 1.0)
        close = self._distance(o + along[:, None] * d) < 0.02
        out[rows[close]] = along[close]
        return out, np.zeros(len(t), np.int16)

    def _distance(self, point: Array) -> Array:
        ring = np.hypot(point[:, 0], point[:, 1]) - np.float32(self.ring_radius)
        return np.hypot(ring, point[:, 2] - np.float32(self.height)) - np.float32(self.wire_radius)

    def surface(self, point: Array, piece: Array) -> Surface:  # noqa: ARG002  (the protocol's form)
        """Wire: bright flanks and dark gaps between turns."""
        rho = np.hypot(point[:, 0], point[:, 1])
        angle = np.arctan2(point[:, 1], point[:, 0])
        c, s = np.cos(angle), np.sin(angle)
        ring, up = (rho - self.ring_radius) / self.wire_radius, (point[:, 2] - self.height) / self.wire_radius
        turns = round(2 * np.pi * self.ring_radius * self.turns_per_mm)
        phase = angle * turns + 1.2 * np.arctan2(up, ring)
        lean = np.sin(phase)
        normal = np.stack([c * ring - s * lean, s * ring + c * lean, up], axis=1)
        normal = unit(normal)
        openness = (0.25 + 0.6 * (0.5 + 0.5 * np.cos(phase))) * np.clip(0.5 + 0.5 * up, 0.1, 1)
        count = len(point)
        return Surface(
            point,
            normal.astype(np.float32),
            np.tile(np.float32((0.5, 0.49, 0.47)), (count, 1)),
            np.ones(count, np.float32),
            np.full(count, 0.3, np.float32),
            np.zeros((count, 3), np.float32),
            openness.astype(np.float32),
        )

    def blocks(self, origin: Array, direction: Array) -> Array:  # noqa: ARG002  (the protocol's form)
        """No shadow of its own: the seal's body casts it."""
        return np.zeros(len(origin), bool)
