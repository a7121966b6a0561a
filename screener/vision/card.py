"""Find the printed scale card in a photo: millimetres, tilt and camera, with what is not known carried along."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision import card_layout
from screener.vision.card_pose import CardPose, outliers, project, rotation_of, solve_pose
from screener.vision.model import Measured, Scale

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Point
    from screener.vision.photo import Photo

SEARCH_SIDE_PX = 1600
"""Markers are searched in a copy no larger than this, then refined in the photo itself.

A card that takes up a twentieth of the photo's width still has markers of 16 px there."""

PRINT_U_REL = 0.0015
"""Printers at 100 % hold lengths to one or two parts in a thousand (paper takes up moisture, feed rollers slip)."""

MIN_MATCH = 0.7
"""Correlation of a rectified corner with its ideal picture that counts as seen."""

MAX_CORNER_RMS_PX = 3.0
"""Worse fits, per 100 px of marker side, are no card: something else was decoded."""

_PATCH_CELLS, _PX_PER_CELL = 3, 8


@dataclass(frozen=True, eq=False)
class Card:
    """The scale card as seen, and what it says about the bench.

    Positions on the bench are in the card frame (`screener.vision.card_layout`), heights are above the card.
    """

    scale: Scale
    centres_px: dict[int, Point]
    """Predicted centres of all four markers, whether visible or not."""
    seen: tuple[int, ...]
    """Markers of which at least one corner was measured."""
    pose: CardPose

    @property
    def focal_px(self) -> Measured:
        """Focal length with its standard uncertainty (wide when seen from straight above without EXIF)."""
        return Measured(self.pose.focal_px, self.pose.focal_u_px)

    @property
    def outline_px(self) -> tuple[Point, ...]:
        """Corners of the printed area, markers included: nothing round is to be looked for inside."""
        m = card_layout.MARKER_MM / 2 + 1
        corners = np.array([[-m, -m], [60 + m, -m], [60 + m, 40 + m], [-m, 40 + m]])
        return tuple((float(x), float(y)) for x, y in self.pose.project(corners))

    def plane_homography(self, height_mm: float = 0.0) -> NDArray[np.float64]:
        """3 × 3: millimetres on the plane at a height above the bench to *undistorted* pixels.

        A part's top face stands one width above the bench: closer to the camera, so larger.
        """
        r, t = self.pose.rotation, self.pose.translation_mm
        h = self.pose.camera_matrix() @ np.column_stack([r[:, 0], r[:, 1], t - height_mm * r[:, 2]])
        return np.asarray(h / h[2, 2])

    def photo_px(self, points_mm: NDArray[np.float64], height_mm: float = 0.0) -> NDArray[np.float64]:
        """Photo positions (n × 2) of points (n × 2) on the plane at a height, lens distortion included."""
        return self.pose.project(np.asarray(points_mm, dtype=np.float64), height_mm)

    def bench_mm(self, points_px: NDArray[np.float64], height_mm: float = 0.0) -> NDArray[np.float64]:
        """Inverse of `photo_px`: where the lines of sight through photo points (n × 2) meet the plane at a height."""
        return _to_plane(
            self.pose.parameters, self.pose.principal_px, np.asarray(points_px, dtype=np.float64), height_mm
        )

    def px_per_mm_at(self, point_px: Point, height_mm: float = 0.0) -> float:
        """Mean scale around a photo point, for things at a height above the bench."""
        return _local_scale(self.pose.parameters, self.pose.principal_px, point_px, height_mm)

    def u_rel_at(self, point_px: Point, height_mm: float = 0.0) -> float:
        """Relative standard uncertainty of a length around a photo point at a height: pose, focal, lens and print."""
        p = self.pose.parameters
        base = math.log(_local_scale(p, self.pose.principal_px, point_px, height_mm))
        slopes = np.zeros(p.size)
        # Steps of a tenth of each parameter's own uncertainty keep the differences meaningful.
        for i, step in enumerate(0.1 * np.sqrt(np.diag(self.pose.covariance))):
            moved = p.copy()
            moved[i] += step
            there = math.log(_local_scale(moved, self.pose.principal_px, point_px, height_mm))
            slopes[i] = (there - base) / step if step > 0 else 0.0
        return math.sqrt(float(slopes @ self.pose.covariance @ slopes) + PRINT_U_REL**2)


def find_card(photo: Photo) -> Card | None:
    """Find the scale card; one marker of four is enough, more make it surer.

    Returns
    -------
    Card or None
        None when no marker 0 to 3 is seen, or when what was decoded does not lie as on the card.
    """
    found = _detect(photo.gray)
    if not found:
        return None
    pose = _pose_from(found, photo)
    if pose is None:
        return None
    corners = _match_corners(photo.gray, pose)
    if sum(len(c) for c in corners.values()) < 4:
        return None
    solved = _solve(corners, photo, pose)
    if solved is None or not _plausible(*solved):
        return None
    return _card(solved[0], tuple(sorted(corners)))


def _detect(gray: NDArray[np.uint8]) -> dict[int, NDArray[np.float64]]:
    """Markers 0 to 3 decoded in a copy of moderate size: id to its four corners (4 × 2) in photo pixels."""
    shrink = min(1.0, SEARCH_SIDE_PX / max(gray.shape))
    small = gray if shrink == 1.0 else cv2.resize(gray, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, ids, _ = cv2.aruco.ArucoDetector(card_layout.dictionary(), settings).detectMarkers(small)
    names = [] if not len(corners) else np.asarray(ids).ravel().tolist()
    found: dict[int, NDArray[np.float64]] = {}
    for name, quad in sorted(zip(names, corners, strict=True), key=lambda pair: cv2.contourArea(pair[1])):
        if int(name) in card_layout.CENTRES_MM:  # of two with one name the larger stays
            found[int(name)] = (quad.reshape(4, 2).astype(np.float64) + 0.5) / shrink - 0.5
    return found


def _pose_from(found: dict[int, NDArray[np.float64]], photo: Photo) -> CardPose | None:
    """Pose from decoded markers; when they contradict each other, from the largest set that agrees."""
    markers = sorted(found, key=lambda m: -float(cv2.contourArea(found[m].astype(np.float32))))
    while markers:
        size = (photo.width_px, photo.height_px)
        pose = solve_pose(
            [(m, i) for m in markers for i in range(4)],
            np.concatenate([found[m] for m in markers]),
            size,
            photo.focal_35mm,
        )
        if pose is not None and pose.corner_rms_px < 0.1 * _side_px(pose):
            return pose
        markers.pop()
    return None


def _side_px(pose: CardPose) -> float:
    """Mean side of a marker in the photo."""
    scale = _local_scale(pose.parameters, pose.principal_px, _middle_px(pose), 0.0)
    return scale * card_layout.MARKER_MM


def _middle_px(pose: CardPose) -> Point:
    x, y = pose.project(np.array([card_layout.MIDDLE_MM]))[0]
    return float(x), float(y)


def _match_corners(gray: NDArray[np.uint8], pose: CardPose) -> dict[int, dict[int, NDArray[np.float64]]]:
    """Measure every corner that looks like itself: marker to corner number (0 to 3) to photo position.

    Goes by corners, not by markers, so that a marker half under the part still helps.
    """
    result: dict[int, dict[int, NDArray[np.float64]]] = {}
    for marker in card_layout.CENTRES_MM:
        for number, corner_mm in enumerate(card_layout.corners_mm(marker)):
            if _corner_match(gray, pose, marker, corner_mm) >= MIN_MATCH:
                point = _refine(gray, pose, corner_mm)
                if point is not None:
                    result.setdefault(marker, {})[number] = point
    return result


def _corner_match(gray: NDArray[np.uint8], pose: CardPose, marker: int, corner_mm: NDArray[np.float64]) -> float:
    """Correlation of the photo around a corner, rectified, with the ideal picture; -1 outside the photo."""
    cell = card_layout.MARKER_MM / card_layout.CELLS
    n = _PATCH_CELLS * _PX_PER_CELL
    steps = (np.arange(n) + 0.5) / _PX_PER_CELL * cell - _PATCH_CELLS * cell / 2
    grid = np.stack(np.meshgrid(corner_mm[0] + steps, corner_mm[1] + steps), axis=-1)
    at = pose.project(grid.reshape(-1, 2)).reshape(n, n, 2).astype(np.float32)
    height, width = gray.shape
    if at.min() < 0 or at[..., 0].max() > width - 1 or at[..., 1].max() > height - 1:
        return -1.0
    left, top = np.floor(at.reshape(-1, 2).min(axis=0)).astype(int)
    right, bottom = np.ceil(at.reshape(-1, 2).max(axis=0)).astype(int) + 2
    crop = np.ascontiguousarray(gray[top:bottom, left:right])
    local = at - np.array([left, top], dtype=np.float32)
    seen = cv2.remap(crop, local[..., 0], local[..., 1], cv2.INTER_LINEAR).astype(np.float64)
    ideal = _ideal_patch(marker, grid)
    spread = float(seen.std() * ideal.std())
    return float(((seen - seen.mean()) * (ideal - ideal.mean())).mean()) / spread if spread > 1.0 else -1.0


def _ideal_patch(marker: int, grid_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Picture of the card at card-frame positions around one marker: its bits inside, paper outside."""
    bits = card_layout.marker_image(marker, card_layout.CELLS)
    cell = card_layout.MARKER_MM / card_layout.CELLS
    index = np.floor((grid_mm - np.array(card_layout.CENTRES_MM[marker]) + card_layout.MARKER_MM / 2) / cell).astype(
        int
    )
    inside = ((index >= 0) & (index < card_layout.CELLS)).all(axis=-1)
    index = np.clip(index, 0, card_layout.CELLS - 1)
    return np.where(inside, bits[index[..., 1], index[..., 0]], 255).astype(np.float64)


def _refine(gray: NDArray[np.uint8], pose: CardPose, corner_mm: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Sub-pixel corner near its prediction; None when it runs away."""
    start = pose.project(corner_mm[None, :])[0]
    cell_px = _side_px(pose) / card_layout.CELLS
    # The window stays inside the corner's own cell, or the next bit's edge would pull.
    half = int(np.clip(cell_px * 0.6, 2, 12))
    point = start.astype(np.float32).reshape(1, 1, 2).copy()
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.005)
    cv2.cornerSubPix(gray, point, (half, half), (-1, -1), stop)
    moved = point.reshape(2).astype(np.float64)
    return moved if float(np.hypot(*(moved - start))) <= max(2.0, 0.5 * cell_px) else None


def _solve(
    corners: dict[int, dict[int, NDArray[np.float64]]], photo: Photo, near: CardPose
) -> tuple[CardPose, int] | None:
    """Fit to the measured corners, then once more without those that do not fit; also how many were used."""
    names = [(marker, number) for marker, seen in corners.items() for number in seen]
    at_px = np.array([point for seen in corners.values() for point in seen.values()])
    size = (photo.width_px, photo.height_px)
    pose = solve_pose(names, at_px, size, photo.focal_35mm, near=near)
    if pose is None:
        return None
    keep = ~outliers(pose, names, at_px)
    if keep.all() or keep.sum() < 4:
        return pose, len(names)
    kept = [name for name, good in zip(names, keep, strict=True) if good]
    again = solve_pose(kept, at_px[keep], size, photo.focal_35mm, near=pose)
    return (again, len(kept)) if again is not None else None


def _plausible(pose: CardPose, used: int) -> bool:
    """One marker alone must be seen whole; the corners must lie where the fit puts them."""
    return used >= 4 and pose.corner_rms_px < MAX_CORNER_RMS_PX * max(1.0, _side_px(pose) / 100.0)


def _card(pose: CardPose, seen: tuple[int, ...]) -> Card:
    middle = _middle_px(pose)
    px_per_mm = _local_scale(pose.parameters, pose.principal_px, middle, 0.0)
    centres = {
        marker: (float(x), float(y))
        for marker, (x, y) in zip(
            card_layout.CENTRES_MM, pose.project(np.array(list(card_layout.CENTRES_MM.values()))), strict=True
        )
    }
    draft = Card(Scale("card", px_per_mm, pose.tilt_deg, 0.0), centres, seen, pose)
    scale = Scale("card", px_per_mm, pose.tilt_deg, draft.u_rel_at(middle))
    return Card(scale, centres, seen, pose)


def _to_plane(
    parameters: NDArray[np.float64], principal_px: tuple[float, float], points_px: NDArray[np.float64], height_mm: float
) -> NDArray[np.float64]:
    """Lines of sight through photo points, met with the plane at a height (n × 2, millimetres)."""
    flat = (points_px - np.array(principal_px)) / math.exp(float(parameters[0]))
    straight = flat.copy()
    for _ in range(8):  # undo x·(1 + k·r²) by fixed-point iteration; k·r² is a few per cent
        straight = flat / (1.0 + parameters[7] * (straight**2).sum(axis=1, keepdims=True))
    rays = np.column_stack([straight, np.ones(len(straight))])
    rotation, shift = rotation_of(parameters), parameters[4:7]
    card_rays = rays @ rotation
    eye = -rotation.T @ shift
    reach = (-height_mm - eye[2]) / card_rays[:, 2]
    return np.asarray(eye[:2] + card_rays[:, :2] * reach[:, None])


def _local_scale(
    parameters: NDArray[np.float64], principal_px: tuple[float, float], point_px: Point, height_mm: float
) -> float:
    """Square root of the area scale (px per mm) at a photo point, for the plane at a height."""
    centre = _to_plane(parameters, principal_px, np.array([point_px]), height_mm)[0]
    around = centre + 0.5 * np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
    px = project(parameters, around, height_mm, principal_px)
    return math.sqrt(abs(float(np.linalg.det(np.stack([px[1] - px[0], px[3] - px[2]])))))
