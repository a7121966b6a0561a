"""Balls, the ribbon cage around them and its rivets: what an open bearing shows between its rings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drawing.profiles import BearingShape
from drawing.surface import MISS, Array, Surface, dot, unit

BALL, POCKET, PAD, RIVET = 0, 1, 2, 3


@dataclass(frozen=True, slots=True)
class BallRow:
    """A full row: balls on the pitch circle at half width, cage pockets over them, pads with rivets between."""

    shape: BearingShape
    count: int
    turn_rad: float
    cage_rgb: tuple[float, float, float]
    cage_metal: float

    def bound(self) -> tuple[Array, float]:
        """Give a sphere around the row."""
        return np.array([0, 0, self.shape.width_mm / 2], np.float32), self.shape.pitch + 1.3 * self.shape.ball

    @property
    def cage_half_width(self) -> float:
        """Half the radial width of the cage's ribbon."""
        return 0.46 * self.shape.ball

    def centres(self) -> Array:
        """Ball centres (count, 3)."""
        turn = self.turn_rad + np.arange(self.count) * 2 * np.pi / self.count
        p = self.shape.pitch
        return np.stack([p * np.cos(turn), p * np.sin(turn), np.full(self.count, self.shape.width_mm / 2)], axis=1)

    def meet(self, origin: Array, direction: Array) -> tuple[Array, Array]:
        """Nearest ball, pocket, pad or rivet."""
        shape, mid = self.shape, np.float32(self.shape.width_mm / 2)
        lead = (mid + np.float32(shape.ball) - origin[:, 2]) / direction[:, 2]
        o = origin + lead[:, None] * direction
        best, which = np.full(len(o), MISS, np.float32), np.full(len(o), -1, np.int16)
        ribbon = np.float32(self.cage_half_width)
        rivet_z = mid + np.float32(0.34 * shape.ball)
        for sphere in self._jobs(o, float(rivet_z)):
            _nearest((o, direction), sphere, (shape.pitch, float(ribbon)), best, which)
        pad = (rivet_z - o[:, 2]) / direction[:, 2]
        radius = np.hypot(o[:, 0] + pad * direction[:, 0], o[:, 1] + pad * direction[:, 1])
        on_pad = (np.abs(radius - shape.pitch) < ribbon) & (pad < best)
        best, which = np.where(on_pad, pad, best), np.where(on_pad, np.int16(PAD), which)
        return best + lead, which

    def _jobs(self, o: Array, rivet_z: float) -> Iterator[tuple[Array, Array, float, int]]:
        """Each sphere with the rays of its own sector and the two beside it (no other can meet it)."""
        step, shape = 2 * np.pi / self.count, self.shape
        rho = np.hypot(o[:, 0], o[:, 1])
        band = np.flatnonzero(np.abs(rho - shape.pitch) < 2.6 * shape.ball)
        sector = np.round((np.arctan2(o[band, 1], o[band, 0]) - self.turn_rad) / step).astype(np.int16) % self.count
        members = [band[sector == number] for number in range(self.count)]
        for number, centre in enumerate(self.centres().astype(np.float32)):
            rows = np.concatenate([members[(number + side) % self.count] for side in (-1, 0, 1)])
            yield rows, centre, shape.ball, BALL
            yield rows, centre, 1.1 * shape.ball, POCKET
            turn = self.turn_rad + (number + 0.5) * step
            rivet = np.float32((shape.pitch * np.cos(turn), shape.pitch * np.sin(turn), rivet_z))
            yield rows, rivet, 0.2 * shape.ball, RIVET

    def surface(self, point: Array, piece: Array) -> Surface:
        """Steel balls and rivets, a pressed or moulded cage."""
        count = len(point)
        normal = self._normals(point, piece)
        cage = (piece == POCKET) | (piece == PAD)
        albedo = np.where(cage[:, None], np.float32(self.cage_rgb), np.float32((0.62, 0.61, 0.60)))
        metal = np.where(cage, np.float32(self.cage_metal), np.float32(1))
        height = point[:, 2] - self.shape.width_mm / 2
        rho = np.hypot(point[:, 0], point[:, 1])
        beside = 1 - np.abs(rho - self.shape.pitch) / (1.25 * self.shape.ball)
        openness = np.clip(0.25 + 0.6 * height / self.shape.ball, 0.08, 0.85) * np.clip(0.35 + 0.9 * beside, 0.2, 1)
        # Pads are pressed, not ground: their normals scatter a little, or they would flash like mirrors.
        groove = np.zeros((count, 3), np.float32)
        groove[piece == PAD, 0] = 0.3
        return Surface(
            point,
            normal,
            albedo.astype(np.float32),
            metal.astype(np.float32),
            np.full(count, 0.35, np.float32),
            groove,
            openness.astype(np.float32),
        )

    def _normals(self, point: Array, piece: Array) -> Array:
        angle = np.arctan2(point[:, 1], point[:, 0]) - self.turn_rad
        step = 2 * np.pi / self.count
        offset = np.where(piece == RIVET, 0.5, 0.0)
        nearest = (np.round(angle / step - offset) + offset) * step + self.turn_rad
        z = np.where(piece == RIVET, 0.34 * self.shape.ball, 0.0) + self.shape.width_mm / 2
        centre = np.stack([self.shape.pitch * np.cos(nearest), self.shape.pitch * np.sin(nearest), z], axis=1)
        normal = point - centre
        normal[piece == PAD] = (0, 0, 1)
        return unit(normal).astype(np.float32)

    def blocks(self, origin: Array, direction: Array) -> Array:
        """Give no shadow of its own: the rings around cast it."""
        return np.zeros(len(direction) if direction.ndim > 1 else len(origin), bool)


def _nearest(
    rays: tuple[Array, Array],
    sphere: tuple[Array, Array, float, int],
    ribbon: tuple[float, float],
    best: Array,
    which: Array,
) -> None:
    """Update ``best`` and ``which`` with a sphere; a pocket exists only within the ribbon's width."""
    (o, d), (rows, centre, radius, kind) = rays, sphere
    away, ray = o[rows] - centre, d[rows]
    b = dot(away, ray)
    c = dot(away, away) - np.float32(radius**2)
    hit = np.flatnonzero(b * b > c)
    rows, ray, b, c = rows[hit], ray[hit], b[hit], c[hit]
    t = -b - np.sqrt(b * b - c)
    good = t < best[rows]
    if kind == POCKET:
        x, y = o[rows, 0] + t * ray[:, 0], o[rows, 1] + t * ray[:, 1]
        good &= np.abs(np.hypot(x, y) - ribbon[0]) < ribbon[1]
    rows, t = rows[good], t[good]
    best[rows], which[rows] = t, kind
