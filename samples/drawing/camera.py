"""A pinhole camera with one term of radial distortion, in the convention of OpenCV."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.surface import Array, unit


@dataclass(frozen=True, slots=True)
class Camera:
    """Where the camera stands and how it maps. ``rotation`` and ``shift`` take world millimetres to the camera's axes.

    The camera's axes are x to the right, y down, z forward; ``k1`` multiplies r² of the undistorted normalised point.
    """

    width_px: int
    height_px: int
    focal_px: float
    rotation: Array
    shift: Array
    k1: float = 0.0

    @property
    def centre_px(self) -> tuple[float, float]:
        """The principal point: the middle of the picture."""
        return (self.width_px - 1) / 2, (self.height_px - 1) / 2

    @property
    def position_mm(self) -> Array:
        """The eye in world coordinates, shape (3,)."""
        return -self.rotation.T @ self.shift

    @property
    def matrix(self) -> Array:
        """The 3 x 3 matrix of the lens before distortion."""
        cx, cy = self.centre_px
        return np.array([[self.focal_px, 0.0, cx], [0.0, self.focal_px, cy], [0.0, 0.0, 1.0]])

    def project(self, points_mm: Array) -> Array:
        """Pixels (n, 2) of world points (n, 3)."""
        seen = points_mm @ self.rotation.T + self.shift
        flat = seen[:, :2] / seen[:, 2:]
        flat = flat * (1 + self.k1 * (flat**2).sum(axis=1, keepdims=True))
        return flat * self.focal_px + np.array(self.centre_px)

    def rays(self, x_px: Array, y_px: Array) -> Array:
        """Unit directions (n, 3), world axes, float32, of the rays through pixels."""
        cx, cy = self.centre_px
        bent = np.stack([(x_px - cx) / self.focal_px, (y_px - cy) / self.focal_px], axis=-1)
        flat = bent.copy()
        if self.k1:
            for _ in range(8):  # fixed-point inversion; |k1| r² stays far below one
                flat = bent / (1 + self.k1 * (flat**2).sum(axis=-1, keepdims=True))
        forward = np.concatenate([flat, np.ones_like(flat[..., :1])], axis=-1) @ self.rotation
        return unit(forward).astype(np.float32)

    def label_matrix(self) -> list[list[float]]:
        """World to camera as a 4 x 4 list for a camera that looks along -z with y up (the labels' convention)."""
        turned = np.diag([1.0, -1.0, -1.0])
        matrix = np.eye(4)
        matrix[:3, :3] = turned @ self.rotation
        matrix[:3, 3] = turned @ self.shift
        return [[float(value) for value in row] for row in matrix]


def look_at(
    *,
    width_px: int,
    height_px: int,
    focal_px: float,
    target_mm: Array,
    distance_mm: float,
    tilt_deg: float,
    azimuth_deg: float,
    roll_deg: float,
    k1: float = 0.0,
) -> Camera:
    """Place a camera ``distance_mm`` from a target, ``tilt_deg`` away from straight above it."""
    tilt, azimuth, roll = np.radians([tilt_deg, azimuth_deg, roll_deg])
    away = np.array([np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), np.cos(tilt)])
    forward = -away
    hint = np.array([np.cos(roll), np.sin(roll), 0.0])
    right = hint - forward * (hint @ forward)
    right /= np.linalg.norm(right)
    rotation = np.stack([right, np.cross(forward, right), forward])
    eye = np.asarray(target_mm, dtype=float) + distance_mm * away
    return Camera(width_px, height_px, focal_px, rotation, -rotation @ eye, k1)


def circle_points(radius_mm: float, z_mm: float, count: int = 180) -> Array:
    """Points (count, 3) of a level circle about the z axis."""
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([radius_mm * np.cos(turn), radius_mm * np.sin(turn), np.full(count, z_mm)], axis=1)


def ellipse_of_circle(camera: Camera, radius_mm: float, z_mm: float) -> dict[str, float]:
    """Give the ellipse (label format) under which a level circle about the z axis is seen.

    Distortion bends a circle's picture slightly away from an ellipse; the label is the best fit to 180 points.
    """
    points = camera.project(circle_points(radius_mm, z_mm))
    middle = points.mean(axis=0)
    (cx, cy), (first, second), angle = cv2.fitEllipseDirect(((points - middle) * 16).astype(np.float32))
    if second > first:
        first, second, angle = second, first, angle + 90
    return {
        "cx": float(cx / 16 + middle[0]),
        "cy": float(cy / 16 + middle[1]),
        "a": float(first / 32),
        "b": float(second / 32),
        "angle_deg": float(angle % 180),
        "radius_mm": float(radius_mm),
        "z_mm": float(z_mm),
    }
