"""Camera and bench from the card's corners: one joint fit with honest priors, and its covariance.

Unknown are the focal length, the pose of the card (3 + 3), one radial distortion term, and how much larger than drawn
the black squares look (ink spreads, bright paper blooms, corner finders lean to one side). A card seen from straight
above says nothing about the focal length, so priors carry what the corners cannot, and the covariance tells how much is
left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision import card_layout

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

EXIF_FOCAL_U_REL = 0.05
"""EXIF states whole millimetres of 35 mm equivalent, by the diagonal or by the width as the maker likes (4 % apart)."""

TYPICAL_FOCAL_35MM = 36.0
TYPICAL_FOCAL_U_REL = 0.35
"""Without EXIF: phones take small things with 24 mm to 77 mm; two standard deviations cover 18 mm to 72 mm."""

FULL_FRAME_DIAGONAL_MM = 43.27
"""Diagonal of 36 × 24 mm, the base of the 35 mm equivalent (CIPA DCG-001)."""

DISTORTION_U = 0.04
"""Phones correct their lenses; what stays is a few hundredths of the first radial term, either way."""

MARKER_GROWTH_U = 0.02
"""The black squares look larger or smaller than drawn by about a tenth of a millimetre in twelve."""

CORNER_U_PX = 0.15
"""Best that a refined corner is trusted to."""

_HUBER = 2.0
_STEPS = 120
"""Focal length and tilt trade against each other in a narrow valley: the fit walks it slowly."""
_OUTLIER_PX = 0.5


@dataclass(frozen=True, eq=False)
class CardPose:
    """Camera and card, from one photo.

    A point (x, y) of the card frame at height h above the bench lies at ``R·(x, y, -h) + t`` in the camera's frame
    (x right, y down, z away from the camera; millimetres): the card's own z axis points into the bench.
    """

    parameters: NDArray[np.float64]
    """ln(focal in px), rotation vector (3), translation in mm (3), first radial distortion term."""
    covariance: NDArray[np.float64]
    """8 × 8, of ``parameters``."""
    principal_px: tuple[float, float]
    corner_rms_px: float
    """Root mean square distance of the corners from their prediction."""

    @property
    def focal_px(self) -> float:
        """Focal length in pixels."""
        return math.exp(float(self.parameters[0]))

    @property
    def focal_u_px(self) -> float:
        """Standard uncertainty of `focal_px`."""
        return self.focal_px * math.sqrt(float(self.covariance[0, 0]))

    @property
    def rotation(self) -> NDArray[np.float64]:
        """3 × 3, card frame to camera frame."""
        return rotation_of(self.parameters)

    @property
    def translation_mm(self) -> NDArray[np.float64]:
        """Marker 0's centre in the camera's frame."""
        return self.parameters[4:7]

    @property
    def tilt_deg(self) -> float:
        """Angle between the optical axis and the bench's normal."""
        return math.degrees(math.acos(min(1.0, abs(float(self.rotation[2, 2])))))

    def project(self, points_mm: NDArray[np.float64], height_mm: float = 0.0) -> NDArray[np.float64]:
        """Photo positions (n × 2) of points (n × 2) at a height above the bench."""
        return project(self.parameters, points_mm, height_mm, self.principal_px)

    def camera_matrix(self) -> NDArray[np.float64]:
        """3 × 3 pinhole matrix, before distortion."""
        return camera_matrix(self.parameters, self.principal_px)


def rotation_of(parameters: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rotation matrix inside a parameter vector."""
    return np.asarray(cv2.Rodrigues(parameters[1:4])[0], dtype=np.float64)


def camera_matrix(parameters: NDArray[np.float64], principal_px: tuple[float, float]) -> NDArray[np.float64]:
    """Pinhole matrix inside a parameter vector."""
    focal = math.exp(float(parameters[0]))
    return np.array([[focal, 0.0, principal_px[0]], [0.0, focal, principal_px[1]], [0.0, 0.0, 1.0]])


def project(
    parameters: NDArray[np.float64], points_mm: NDArray[np.float64], height_mm: float, principal_px: tuple[float, float]
) -> NDArray[np.float64]:
    """Photo positions (n × 2) of card-frame points (n × 2) at a height above the bench, distortion included."""
    solid = np.column_stack([points_mm, np.full(len(points_mm), -height_mm)])
    seen = solid @ rotation_of(parameters).T + parameters[4:7]
    flat = seen[:, :2] / np.maximum(seen[:, 2:], 1e-6)
    swell = 1.0 + parameters[7] * (flat**2).sum(axis=1, keepdims=True)
    return np.asarray(flat * swell * math.exp(float(parameters[0])) + np.array(principal_px))


def solve_pose(
    corners: list[tuple[int, int]],
    points_px: NDArray[np.float64],
    size_px: tuple[int, int],
    focal_35mm: float | None,
    *,
    near: CardPose | None = None,
) -> CardPose | None:
    """Fit camera and pose to corners.

    Parameters
    ----------
    corners
        Which corners were measured: (marker, corner number), at least four.
    points_px
        Where they lie in the photo, n × 2.
    size_px
        Width and height of the photo; the principal point is taken as its middle.
    focal_35mm
        From EXIF, or None.
    near
        A pose to start from; without it both poses that a plane allows are tried.

    Returns
    -------
    CardPose or None
        None where no pose explains the corners.
    """
    principal = ((size_px[0] - 1) / 2, (size_px[1] - 1) / 2)
    prior = _prior(size_px, focal_35mm)
    drawn = np.array([card_layout.corners_mm(marker)[number] for marker, number in corners])
    centres = np.array([card_layout.CENTRES_MM[marker] for marker, _ in corners])
    starts = [np.append(near.parameters, 0.0)] if near is not None else _starts(drawn, points_px, principal, prior)
    fits = [_fit(start, (drawn, drawn - centres), points_px, principal, prior) for start in starts]
    good = [fit for fit in fits if fit is not None]
    if not good:
        return None
    return min(good, key=lambda fit: fit[1])[0]


def outliers(pose: CardPose, corners: list[tuple[int, int]], points_px: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark corners that lie far from where the others put them: half covered, or another edge was caught."""
    drawn = np.array([card_layout.corners_mm(marker)[number] for marker, number in corners])
    away = pose.project(drawn) - points_px
    away -= np.median(away, axis=0)
    distance = np.hypot(away[:, 0], away[:, 1])
    return np.asarray(distance > max(_OUTLIER_PX, 3.0 * float(np.median(distance))))


def _prior(size_px: tuple[int, int], focal_35mm: float | None) -> tuple[float, float]:
    """Mean and standard deviation of ln(focal in px)."""
    equivalent = focal_35mm or TYPICAL_FOCAL_35MM
    u = EXIF_FOCAL_U_REL if focal_35mm else TYPICAL_FOCAL_U_REL
    return math.log(equivalent / FULL_FRAME_DIAGONAL_MM * math.hypot(*size_px)), u


def _starts(
    points_mm: NDArray[np.float64],
    points_px: NDArray[np.float64],
    principal: tuple[float, float],
    prior: tuple[float, float],
) -> list[NDArray[np.float64]]:
    """Give starting values: a plane seen in perspective has two poses that look alike; both are tried."""
    solid = np.column_stack([points_mm, np.zeros(len(points_mm))])
    guess = np.array([prior[0], *[0.0] * 7])
    matrix = camera_matrix(guess, principal)
    try:
        _, turns, shifts, _ = cv2.solvePnPGeneric(solid, points_px, matrix, None, flags=cv2.SOLVEPNP_IPPE)
    except cv2.error:
        return []
    return [
        np.concatenate([[prior[0]], turn.ravel(), shift.ravel(), [0.0, 0.0]])
        for turn, shift in zip(turns, shifts, strict=True)
        if float(shift.ravel()[2]) > 0
    ]


def _fit(
    start: NDArray[np.float64],
    drawn_mm: tuple[NDArray[np.float64], NDArray[np.float64]],
    points_px: NDArray[np.float64],
    principal: tuple[float, float],
    prior: tuple[float, float],
) -> tuple[CardPose, float] | None:
    """Levenberg–Marquardt with Huber weights; returns the pose and its cost.

    ``drawn_mm`` holds the corners as drawn and their offsets from their marker's centre.
    """

    def left_over(p: NDArray[np.float64]) -> NDArray[np.float64]:
        corners = project(p, drawn_mm[0] + p[8] * drawn_mm[1], 0.0, principal)
        return np.asarray((corners - points_px).ravel())

    def residuals(p: NDArray[np.float64]) -> NDArray[np.float64]:
        believed = np.array([(p[0] - prior[0]) / prior[1], p[7] / DISTORTION_U, p[8] / MARKER_GROWTH_U])
        return np.concatenate([_huber(left_over(p) / CORNER_U_PX), believed])

    p, normal = _levenberg_marquardt(start, residuals)
    left = left_over(p)
    if not np.isfinite(left).all():
        return None
    cost = float((residuals(p) ** 2).sum())
    # Corners that scatter more than CORNER_U_PX widen the covariance; the priors keep their own widths.
    spread = max(1.0, float((_huber(left / CORNER_U_PX) ** 2).sum()) / max(1, left.size - 7))
    believed = np.diag([prior[1] ** -2, *[0.0] * 6, DISTORTION_U**-2, MARKER_GROWTH_U**-2])
    covariance = np.asarray(np.linalg.pinv((normal - believed) / spread + believed), dtype=np.float64)
    return CardPose(p[:8], covariance[:8, :8], principal, float(np.sqrt((left**2).mean() * 2))), cost


def _huber(z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Square root of Huber's loss with the residual's sign: far-off corners pull, but linearly."""
    size = np.abs(z)
    return np.where(size <= _HUBER, z, np.sign(z) * np.sqrt(np.maximum(2 * _HUBER * size - _HUBER**2, 0.0)))


def _levenberg_marquardt(
    p: NDArray[np.float64], residuals: Callable[[NDArray[np.float64]], NDArray[np.float64]]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Minimise the sum of squares; returns the minimum and the normal matrix there."""
    damping, r = 1e-3, residuals(p)
    for _ in range(_STEPS):
        j = _jacobian(p, residuals, r)
        normal = j.T @ j
        step = -np.linalg.lstsq(normal + damping * np.diag(np.diag(normal) + 1e-12), j.T @ r, rcond=None)[0]
        trial = residuals(p + step)
        if float(trial @ trial) < float(r @ r):
            gain = float(r @ r - trial @ trial)
            p, r, damping = p + step, trial, damping / 5
            if gain < 1e-7 * float(r @ r) and damping < 1e-4:
                break
        else:
            damping *= 10
            if damping > 1e8:
                break
    j = _jacobian(p, residuals, r)
    return p, j.T @ j


def _jacobian(
    p: NDArray[np.float64],
    function: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    at: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Forward differences; steps suit radians, millimetres and logarithms alike."""
    columns = []
    for i in range(p.size):
        moved = p.copy()
        step = 1e-6 * max(1.0, abs(float(p[i])))
        moved[i] += step
        columns.append((function(moved) - at) / step)
    return np.stack(columns, axis=1)
