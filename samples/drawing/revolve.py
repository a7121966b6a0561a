"""Rays meeting a surface of revolution made of straight pieces."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from drawing.profiles import Piece
from drawing.surface import MISS, Array, Surface, dot, unit

Decorate = Callable[[Surface, Array, Array, Array], None]
"""Changes a surface in place, given radius, height and angle (radians) of its points and the material's mask."""


@dataclass(frozen=True, slots=True)
class Material:
    """How a material takes light."""

    albedo: tuple[float, float, float]
    metal: float = 0.0
    gloss: float = 0.3
    spread: float = 0.0
    """Spread of the normals across the turning marks, radians."""


@dataclass(slots=True)
class Turned:
    """A turned body standing on ``base`` with its axis along ``axes[2]`` (rows of ``axes`` are its own axes)."""

    pieces: list[Piece]
    materials: Mapping[str, Material]
    base: Array
    axes: Array = field(default_factory=lambda: np.eye(3, dtype=np.float32))
    decorate: dict[str, Decorate] = field(default_factory=dict)
    solid: tuple[float, float, float] | None = None
    """Outside radius, bore radius and height that cast its shadow; None: the pieces themselves."""

    def bound(self) -> tuple[Array, float]:
        """Give a sphere around the body."""
        r = max(max(p.start[0], p.end[0]) for p in self.pieces)
        z = [h for p in self.pieces for h in (p.start[1], p.end[1])]
        middle = self.base + self.axes[2] * np.float32((max(z) + min(z)) / 2)
        return middle, float(np.hypot(r, (max(z) - min(z)) / 2)) * 1.01

    def own(self, vectors: Array) -> Array:
        """Turn world directions (n, 3) into the body's axes."""
        return vectors @ self.axes.T

    def meet(self, origin: Array, direction: Array) -> tuple[Array, Array]:
        """Nearest hit of each ray with any piece."""
        o, d = self.own(origin - self.base), self.own(direction)
        lead = -dot(o, d)  # start each ray beside the body: keeps the squares small in float32
        o = o + lead[:, None] * d
        best = np.full(len(d), MISS, np.float32)
        which = np.full(len(d), -1, np.int16)
        flat = (d[:, 0] ** 2 + d[:, 1] ** 2, o[:, 0] * d[:, 0] + o[:, 1] * d[:, 1], o[:, 0] ** 2 + o[:, 1] ** 2)
        for number, piece in enumerate(self.pieces):
            for t in _piece_hits(piece, o, d, flat):
                nearer = t < best
                best = np.where(nearer, t, best)
                which = np.where(nearer, np.int16(number), which)
        return best + lead, which

    def surface(self, point: Array, piece: Array) -> Surface:
        """Normals from the pieces' end normals; materials by name; then what is drawn on top."""
        local = self.own(point - self.base)
        rho = np.hypot(local[:, 0], local[:, 1])
        out = np.stack([local[:, 0], local[:, 1], np.zeros_like(rho)], axis=1) / np.maximum(rho, 1e-6)[:, None]
        share = self._share(rho, local[:, 2], piece)
        normal_r, normal_z, openness = (self._mix(name, piece, share) for name in ("r", "z", "open"))
        normal = out * normal_r[:, None]
        normal[:, 2] = normal_z
        normal = unit(normal)
        across = out * normal_z[:, None]
        across[:, 2] = -normal_r
        seen = self._plain(point, normal, across, openness, piece)
        self._decorated(seen, piece, rho, local)
        seen.normal = (seen.normal @ self.axes).astype(np.float32)
        seen.groove = (seen.groove @ self.axes).astype(np.float32)
        return seen

    def _plain(self, point: Array, normal: Array, across: Array, openness: Array, piece: Array) -> Surface:
        kinds = [self.materials[p.material] for p in self.pieces]
        albedo = np.array([k.albedo for k in kinds], np.float32)[piece]
        metal, gloss, spread = (
            np.array([getattr(k, name) for k in kinds], np.float32)[piece] for name in ("metal", "gloss", "spread")
        )
        return Surface(point, normal, albedo, metal, gloss, across * spread[:, None], openness.astype(np.float32))

    def _decorated(self, seen: Surface, piece: Array, rho: Array, local: Array) -> None:
        names = np.array([p.material for p in self.pieces])
        angle = np.arctan2(local[:, 1], local[:, 0])
        for name, paint in self.decorate.items():
            rows = np.flatnonzero(np.isin(piece, np.flatnonzero(names == name)))
            if len(rows):
                paint(seen, rows, rho[rows], angle[rows])

    def _share(self, rho: Array, z: Array, piece: Array) -> Array:
        start = np.array([p.start for p in self.pieces], np.float32)[piece]
        step = np.array([p.end for p in self.pieces], np.float32)[piece] - start
        along = (rho - start[:, 0]) * step[:, 0] + (z - start[:, 1]) * step[:, 1]
        return np.clip(along / np.maximum((step**2).sum(axis=1), 1e-9), 0, 1)

    def _mix(self, name: str, piece: Array, share: Array) -> Array:
        ends = {
            "r": [(p.normal_start[0], p.normal_end[0]) for p in self.pieces],
            "z": [(p.normal_start[1], p.normal_end[1]) for p in self.pieces],
            "open": [(p.open_start, p.open_end) for p in self.pieces],
        }[name]
        table = np.array(ends, np.float32)[piece]
        return table[:, 0] * (1 - share) + table[:, 1] * share

    def blocks(self, origin: Array, direction: Array) -> Array:
        """Shadow of the simple hollow cylinder, or of the pieces when none is given."""
        if self.solid is None:
            t, _ = self.meet(origin, direction)
            return np.isfinite(t) & (t > 0)
        outer, inner, height = self.solid
        return hollow_cylinder_blocks(self.own(origin - self.base), self.own(direction), outer, inner, height)


def hollow_cylinder_blocks(o: Array, d: Array, outer: float, inner: float, height: float) -> Array:
    """Say which rays from the bench up are stopped by a hollow cylinder standing on it.

    A ray from outside is stopped where it comes over the outer wall below the top; one from inside the bore where it
    reaches the bore's wall below the top; one from under the ring always.
    """
    from_centre = o[:, 0] ** 2 + o[:, 1] ** 2
    inside = from_centre < inner**2
    reach_out = _rise_to_radius(o, d, outer, nearer=True)
    reach_in = _rise_to_radius(o, d, inner, nearer=False)
    under = (from_centre >= inner**2) & (from_centre <= outer**2)
    return under | (inside & (reach_in < height)) | (~inside & (reach_out < height))


def _rise_to_radius(o: Array, d: Array, radius: float, *, nearer: bool) -> Array:
    """Height at which each ray crosses a cylinder about z; inf where it never does going forward."""
    a = np.maximum(d[:, 0] ** 2 + d[:, 1] ** 2, 1e-9)
    b = o[:, 0] * d[:, 0] + o[:, 1] * d[:, 1]
    under_root = b**2 - a * (o[:, 0] ** 2 + o[:, 1] ** 2 - radius**2)
    root = np.sqrt(np.maximum(under_root, 0))
    t = (-b - root) / a if nearer else (-b + root) / a
    return np.where((under_root > 0) & (t > 0), o[:, 2] + t * d[:, 2], np.inf)


def _piece_hits(piece: Piece, o: Array, d: Array, flat: tuple[Array, Array, Array]) -> list[Array]:
    """Distances (inf for a miss) to one piece: a level ring, or both crossings of a cone or cylinder."""
    (r0, z0), (r1, z1) = piece.start, piece.end
    if abs(z1 - z0) < 1e-6:
        t = (np.float32(z0) - o[:, 2]) / np.where(np.abs(d[:, 2]) < 1e-9, np.float32(1e-9), d[:, 2])
        square = flat[2] + t * (2 * flat[1] + t * flat[0])
        low, high = sorted((r0, r1))
        return [np.where((square >= low**2) & (square <= high**2), t, MISS)]
    slope = np.float32((r1 - r0) / (z1 - z0))
    radius_at_start = np.float32(r0) + slope * (o[:, 2] - np.float32(z0))
    a = flat[0] - slope**2 * d[:, 2] ** 2
    b = flat[1] - slope * d[:, 2] * radius_at_start
    c = flat[2] - radius_at_start**2
    under_root = b * b - a * c
    root = np.sqrt(np.maximum(under_root, 0))
    a = np.where(np.abs(a) < 1e-9, np.float32(1e-9), a)
    low, high = sorted((z0, z1))
    found = []
    for t in ((-b - root) / a, (-b + root) / a):
        z = o[:, 2] + t * d[:, 2]
        radius = radius_at_start + slope * t * d[:, 2]
        found.append(np.where((under_root >= 0) & (z >= low) & (z <= high) & (radius >= 0), t, MISS))
    return found
