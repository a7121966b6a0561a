"""Plain pictures of concentric circles under a pinhole camera, projected by cv2.projectPoints (not by the product)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PinholeBench:
    """Camera above a bench: z = 0 is the bench, z grows towards the camera."""

    tilt_deg: float
    distance_mm: float
    focal_px: float = 1500.0
    size_px: tuple[int, int] = (1200, 900)
    turn_deg: float = 30.0

    @property
    def matrix(self) -> Floats:
        w, h = self.size_px
        return np.array([[self.focal_px, 0, (w - 1) / 2], [0, self.focal_px, (h - 1) / 2], [0, 0, 1]])

    @property
    def rotation(self) -> Floats:
        t, s = math.radians(self.tilt_deg), math.radians(self.turn_deg)
        about_z = np.array([[math.cos(s), -math.sin(s), 0], [math.sin(s), math.cos(s), 0], [0, 0, 1]])
        about_x = np.array([[1, 0, 0], [0, math.cos(t), -math.sin(t)], [0, math.sin(t), math.cos(t)]])
        return np.asarray(np.diag([1.0, -1.0, -1.0]) @ about_x @ about_z)

    def project(self, points_mm: Floats) -> Floats:
        rvec, _ = cv2.Rodrigues(self.rotation)
        px, _ = cv2.projectPoints(points_mm, rvec, np.array([0, 0, self.distance_mm]), self.matrix, None)
        return np.asarray(px.reshape(-1, 2), dtype=np.float64)

    def circle(self, radius_mm: float, z_mm: float = 0.0, centre_mm: tuple[float, float] = (0.0, 0.0)) -> Floats:
        a = np.linspace(0, 2 * np.pi, 720, endpoint=False)
        points = np.stack([centre_mm[0] + radius_mm * np.cos(a), centre_mm[1] + radius_mm * np.sin(a)], axis=1)
        return self.project(np.column_stack([points, np.full(720, z_mm)]))

    def bench_mm(self, points_px: Floats, height_mm: float = 0.0) -> Floats:
        rays = np.column_stack([points_px, np.ones(len(points_px))]) @ np.linalg.inv(self.matrix).T @ self.rotation
        eye = -self.rotation.T @ np.array([0, 0, self.distance_mm])
        reach = (height_mm - eye[2]) / rays[:, 2]
        return np.asarray(eye[:2] + rays[:, :2] * reach[:, None])

    def u_rel_at(self, _point_px: tuple[float, float], _height_mm: float = 0.0) -> float:
        return 0.002


@dataclass(frozen=True)
class Disc:
    radius_mm: float
    grey: int
    z_mm: float = 0.0
    centre_mm: tuple[float, float] = (0.0, 0.0)


def draw(
    bench: PinholeBench, discs: list[Disc], *, ground: int = 120, noise: float = 3.0, seed: int = 0
) -> NDArray[np.uint8]:
    """Paint discs one over the other at four times the resolution, reduce, blur, add noise."""
    fine = 4
    w, h = bench.size_px
    canvas = np.full((h * fine, w * fine), ground, dtype=np.uint8)
    for disc in discs:
        outline = (bench.circle(disc.radius_mm, disc.z_mm, disc.centre_mm) + 0.5) * fine - 0.5
        cv2.fillPoly(canvas, [np.round(outline * 16).astype(np.int32)], disc.grey, lineType=cv2.LINE_AA, shift=4)
    small = cv2.resize(canvas, (w, h), interpolation=cv2.INTER_AREA)
    rng = np.random.default_rng(seed)
    noisy = cv2.GaussianBlur(small, (0, 0), 0.7).astype(np.float64) + rng.normal(0, noise, small.shape)
    grey = np.clip(noisy, 0, 255).astype(np.uint8)
    return np.repeat(grey[..., None], 3, axis=2)


def ellipse_error(found: object, outline_px: Floats) -> float:
    """Largest of centre, major and minor axis error over the major semi-axis, against cv2.fitEllipseDirect."""
    (cx, cy), axes, _ = cv2.fitEllipseDirect(outline_px.astype(np.float32))
    b, a = sorted(x / 2 for x in axes)
    e = found
    return max(math.hypot(e.cx - cx, e.cy - cy), abs(e.a - a), abs(e.b - b)) / a  # type: ignore[attr-defined]


BEARING_6205 = [
    Disc(26.0, 60),
    Disc(25.6, 190),
    Disc(22.5, 90),
    Disc(16.3, 185),
    Disc(12.9, 70),
    Disc(12.5, 45),
]
"""Flat picture of a 52 x 25 mm part: ring faces, a dark closure, a narrow dark chamfer on both edges, a dark bore."""
