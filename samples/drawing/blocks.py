"""Things with flat sides: a hexagon nut and a cardboard box with a label on its top."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.surface import MISS, Array, Surface


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex prism standing on the bench: sides facing ``turns`` at ``reach`` from the axis, flat top."""

    centre: Array
    turns: Array
    """Angles of the side normals, radians."""
    reach: Array
    """Distance of each side from the axis, mm."""
    height: float
    albedo: tuple[float, float, float]
    metal: float = 0.0
    hole: float = 0.0
    """Radius of a hole shown as a dark disc with a bright rim."""
    top_picture: Array | None = None
    """Linear RGB picture that fills the top, x along the first turn; row 0 at the far side."""

    def bound(self) -> tuple[Array, float]:
        """Give a sphere around the prism."""
        reach = float(self.reach.max()) * (1.5 if len(self.turns) == 4 else 1.2)
        return self.centre + np.array([0, 0, self.height / 2], np.float32), float(np.hypot(reach, self.height))

    def _planes(self) -> tuple[Array, Array]:
        sides = np.stack([np.cos(self.turns), np.sin(self.turns), np.zeros(len(self.turns))], axis=1)
        return np.vstack([sides, [[0, 0, 1]]]).astype(np.float32), np.append(self.reach, self.height)

    def meet(self, origin: Array, direction: Array) -> tuple[Array, Array]:
        """Slab test over all planes; the piece is the plane through which the ray comes in."""
        normals, reach = self._planes()
        o = origin - self.centre
        enter, leave = np.full(len(direction), -MISS), np.full(len(direction), MISS)
        which = np.full(len(direction), -1, np.int16)
        for number, (normal, far) in enumerate(zip(normals, reach, strict=True)):
            toward, left = direction @ normal, np.float32(far) - o @ normal
            t = left / np.where(np.abs(toward) < 1e-9, np.float32(1e-9), toward)
            coming, later = toward < 0, t > enter
            which = np.where(coming & later, np.int16(number), which)
            enter = np.where(coming & later, t, enter)
            leave = np.where(~coming & (t < leave), t, leave)
        down = -o[:, 2] / np.where(np.abs(direction[:, 2]) < 1e-9, np.float32(1e-9), direction[:, 2])
        leave = np.where((direction[:, 2] < 0) & (down < leave), down, leave)
        return np.where((enter < leave) & (enter > 0), enter, MISS).astype(np.float32), which

    def surface(self, point: Array, piece: Array) -> Surface:
        """Flat sides; the top carries the picture or the hole."""
        normals, _ = self._planes()
        count, local = len(point), point - self.centre
        albedo = np.tile(np.float32(self.albedo), (count, 1))
        openness = np.where(piece == len(self.turns), 1.0, 0.35 + 0.5 * local[:, 2] / self.height).astype(np.float32)
        top = piece == len(self.turns)
        if self.top_picture is not None and top.any():
            albedo[top] = self._picture_at(local[top])
        if self.hole:
            rho = np.hypot(local[:, 0], local[:, 1])
            openness[top & (rho < self.hole)] = 0.08
            openness[top & (np.abs(rho - self.hole * 1.08) < self.hole * 0.07)] = 0.6
        return Surface(
            point,
            normals[piece],
            albedo,
            np.full(count, self.metal, np.float32),
            np.full(count, 0.12, np.float32),
            np.zeros((count, 3), np.float32),
            openness,
        )

    def top_axes(self) -> tuple[Array, Array]:
        """Unit vectors along the picture's width and up its height."""
        turn = float(self.turns[0])
        return np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])

    def _picture_at(self, local: Array) -> Array:
        assert self.top_picture is not None  # noqa: S101  (a promise between two methods of one class)
        across, up = self.top_axes()
        rows, columns = self.top_picture.shape[:2]
        u = ((local[:, :2] @ across) / float(self.reach[0]) + 1) / 2 * columns - 0.5
        v = (1 - (local[:, :2] @ up) / float(self.reach[1])) / 2 * rows - 0.5
        return lookup(self.top_picture, u, v)

    def blocks(self, origin: Array, direction: Array) -> Array:
        """Say which rays from the bench enter the prism or start under it."""
        normals, reach = self._planes()
        inside = ((origin - self.centre) @ normals[:-1].T < reach[:-1]).all(axis=1)
        t, _ = self.meet(origin, direction)
        return inside | np.isfinite(t)


def lookup(picture: Array, u: Array, v: Array, *, wrap: bool = False) -> Array:
    """Colours of a float32 picture at pixel positions (n,), bilinear; (n, 3) or (n,) as the picture has channels."""
    border = cv2.BORDER_WRAP if wrap else cv2.BORDER_REPLICATE
    # OpenCV's remap takes at most 32766 rows: fold the list into lines of 4096.
    count = len(u)
    if not count:
        return np.zeros((0, *picture.shape[2:]), np.float32)
    width = min(4096, max(1, count))
    rows = -(-count // width)
    folded = np.zeros((2, rows * width), np.float32)
    folded[0, :count], folded[1, :count] = u, v
    got = cv2.remap(
        picture, folded[0].reshape(rows, width), folded[1].reshape(rows, width), cv2.INTER_LINEAR, borderMode=border
    )
    return got.reshape(rows * width, *picture.shape[2:])[:count]


def hexagon_nut(centre: Array, across_flats: float, height: float, turn: float) -> Prism:
    """Make a steel nut."""
    turns = turn + np.arange(6) * np.pi / 3
    return Prism(centre, turns, np.full(6, across_flats / 2), height, (0.55, 0.55, 0.56), 1.0, across_flats * 0.29)


def carton(
    centre: Array,
    size_mm: tuple[float, float, float],
    turn: float,
    picture: Array | None,
    rgb: tuple[float, float, float],
) -> Prism:
    """Make a box of width, depth and height with a picture over its whole top."""
    turns = turn + np.arange(4) * np.pi / 2
    reach = np.array([size_mm[0], size_mm[1], size_mm[0], size_mm[1]]) / 2
    return Prism(centre, turns, reach, size_mm[2], rgb, 0.0, 0.0, picture)
