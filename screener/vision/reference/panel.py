"""The panel of a reference photo: the flat, printed quadrilateral, straightened into a frame."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point

    Places = Sequence[tuple[float, float, float, float]]

FRAME_SIDE_PX = 1200
"""Longest side of a frame: 12 px a millimetre on a label of 100 mm."""
_SEARCH_PX = 800
_LEAST_AREA = 0.06
_MOST_AREA = 0.92
"""Of the photo: what is larger is the photo's own border, not a panel on a bench."""
_HOLDS_PRINT = 0.985
_BORDER = 0.012
_BESIDE_PRINT = 0.015
"""Of the longest side: what is kept around print whose panel has no outline in the photo."""


@dataclass(frozen=True, eq=False)
class Frame:
    """A reference straightened.

    ``rgb`` is (H, W, 3) uint8; ``reference_from_frame`` takes frame px to px of the reference photo.
    """

    rgb: NDArray[np.uint8]
    reference_from_frame: NDArray[np.float64]
    px_per_mm: float | None
    outlined: bool = True
    """Whether the panel's outline is known; else the frame is the whole photo, bench and all."""
    print_hull: tuple[Point, ...] = ()
    """Where the panel is only known by its print: the corners around it, in frame px. Outside, nothing is judged."""

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return int(self.rgb.shape[1]), int(self.rgb.shape[0])

    def shrunk(self, side_px: int) -> Frame:
        """The same frame with its longest side at most this."""
        factor = side_px / max(self.rgb.shape[:2])
        if factor >= 1:
            return self
        small = cv2.resize(self.rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
        real = small.shape[1] / self.rgb.shape[1]
        scale = np.diag([1 / real, 1 / real, 1.0])
        per_mm = self.px_per_mm * real if self.px_per_mm else None
        return replace(
            self,
            rgb=np.asarray(small, np.uint8),
            reference_from_frame=self.reference_from_frame @ scale,
            px_per_mm=per_mm,
            print_hull=tuple((x * real, y * real) for x, y in self.print_hull),
        )


def straighten(rgb: NDArray[np.uint8], *, corners_px: Sequence[Point] = (), width_mm: float | None = None) -> Frame:
    """Straighten the panel of a reference photo.

    Parameters
    ----------
    rgb
        The upright photo, (H, W, 3) uint8.
    corners_px
        The panel's corners, clockwise from the top left; found in the photo when empty. Where they are not found the
        whole photo is the frame, and it says so.
    width_mm
        Width of the panel, if known; then sizes are told in millimetres.
    """
    known = np.asarray(corners_px, np.float64) if len(corners_px) == 4 else find_panel(rgb)
    quad = _whole(rgb) if known is None else known
    width = max(math.dist(quad[0], quad[1]), math.dist(quad[3], quad[2]))
    height = max(math.dist(quad[0], quad[3]), math.dist(quad[1], quad[2]))
    shrink = min(1.0, FRAME_SIDE_PX / max(width, height))
    w, h = max(16, round(width * shrink)), max(16, round(height * shrink))
    flat = np.array([[0, 0], [w - 1, 0], [w - 1, h - 1], [0, h - 1]], np.float32)
    to_photo = np.asarray(cv2.getPerspectiveTransform(flat, quad.astype(np.float32)), np.float64)
    soft = cv2.GaussianBlur(rgb, (0, 0), 0.4 / shrink) if shrink < 0.6 else rgb
    frame = cv2.warpPerspective(soft, to_photo, (w, h), flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP)
    return Frame(np.asarray(frame, np.uint8), to_photo, w / width_mm if width_mm else None, known is not None)


def _whole(rgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    height, width = rgb.shape[:2]
    return np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], np.float64)


def around_print(frame: Frame, places: Places) -> NDArray[np.float64]:
    """Corners (4 × 2), in px of the reference photo, of the smallest turned rectangle around what is printed.

    Parameters
    ----------
    frame
        What the places are told in.
    places
        Left, top, right, bottom of each line and code, in frame px; at least one.
    """
    in_photo = cv2.perspectiveTransform(np.array([hull_of(places)], np.float32), frame.reference_from_frame)[0]
    middle, (one, other), turn = cv2.minAreaRect(in_photo)
    margin = 2 * _BESIDE_PRINT * max(one, other)
    box = cv2.boxPoints((middle, (one + margin, other + margin), turn))
    return _clockwise(np.asarray(box, np.float64))


def find_panel(rgb: NDArray[np.uint8]) -> NDArray[np.float64] | None:
    """Corners (4 × 2) of the smallest quadrilateral that holds the print, clockwise from the top left, or None."""
    shrink = min(1.0, _SEARCH_PX / max(rgb.shape[:2]))
    small = np.asarray(cv2.resize(rgb, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8)
    print_energy = _print_energy(small)
    held = [
        (float(cv2.contourArea(quad)), quad)
        for quad in _quads(small)
        if _share_inside(print_energy, quad) >= _HOLDS_PRINT
    ]
    if not held:
        return None
    smallest = min(area for area, _ in held)
    alike = sorted((pair for pair in held if pair[0] <= 1.06 * smallest), key=lambda pair: pair[0])
    best = alike[len(alike) // 2][1]
    return np.asarray((_clockwise(best.astype(np.float64)) + 0.5) / shrink - 0.5, np.float64)


def inner_mask(frame: Frame) -> NDArray[np.bool_]:
    """The frame without its border, where the panel's own edge would be compared with the bench behind it.

    Where only the print is known, also without what lies outside of it.
    """
    height, width = frame.rgb.shape[:2]
    rim = max(3, round(_BORDER * max(width, height)))
    mask = np.zeros((height, width), np.bool_)
    mask[rim:-rim, rim:-rim] = True
    if frame.print_hull:
        printed = np.zeros((height, width), np.uint8)
        cv2.fillConvexPoly(printed, np.rint(frame.print_hull).astype(np.int32), 1)
        mask &= cv2.dilate(printed, np.ones((rim, rim), np.uint8)) > 0
    return mask


def hull_of(places: Places) -> tuple[Point, ...]:
    """Corners around places (left, top, right, bottom), in order."""
    corners = np.array([(x, y) for left, top, right, bottom in places for x in (left, right) for y in (top, bottom)])
    return tuple((float(x), float(y)) for x, y in cv2.convexHull(corners.astype(np.float32))[:, 0])


def _print_energy(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Fine, strong structure: letters and codes; a bench's grain and the panel's own outline count little."""
    gray = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    fine = np.abs(gray - cv2.GaussianBlur(gray, (0, 0), 2.0))
    fine[fine < max(12.0, 4.0 * float(np.median(fine)))] = 0
    dense = cv2.boxFilter((fine > 0).astype(np.float32), -1, (15, 15))
    return np.asarray(fine * (dense > 0.12), np.float32)


def _share_inside(energy: NDArray[np.float32], quad: NDArray[np.float32]) -> float:
    mask = np.zeros(energy.shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(quad).astype(np.int32), 1)
    held = cv2.dilate(mask, np.ones((7, 7), np.uint8)) > 0
    total = float(energy.sum())
    return float(energy[held].sum()) / total if total else 0.0


def _quads(small: NDArray[np.uint8]) -> Iterator[NDArray[np.float32]]:
    area = small.shape[0] * small.shape[1]
    for mask in _masks(small):
        contours, _ = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
        for contour in contours:
            hull = cv2.convexHull(contour)
            if not _LEAST_AREA * area <= cv2.contourArea(hull) <= _MOST_AREA * area:
                continue
            for slack in (0.015, 0.03, 0.05):
                quad = cv2.approxPolyDP(hull, slack * cv2.arcLength(hull, True), True)
                if len(quad) == 4:
                    if cv2.contourArea(quad) > 0.9 * cv2.contourArea(hull):
                        yield quad.reshape(4, 2).astype(np.float32)
                    break


def _masks(small: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    """Black-and-white pictures in whose contours a panel may show: edges, brightness, unlikeness to the border."""
    lab = cv2.cvtColor(cv2.GaussianBlur(small, (0, 0), 1.2), cv2.COLOR_RGB2LAB)
    edges = np.zeros(small.shape[:2], np.uint8)
    for channel, (low, high) in enumerate(((40, 110), (18, 50), (18, 50))):
        edges |= np.asarray(cv2.Canny(np.ascontiguousarray(lab[..., channel]), low, high), np.uint8)
    yield np.asarray(cv2.dilate(edges, np.ones((3, 3), np.uint8)), np.uint8)
    yield np.asarray(cv2.dilate(edges, np.ones((7, 7), np.uint8)), np.uint8)
    rim = np.concatenate(
        [lab[:6].reshape(-1, 3), lab[-6:].reshape(-1, 3), lab[:, :6].reshape(-1, 3), lab[:, -6:].reshape(-1, 3)]
    )
    away = np.linalg.norm(lab.astype(np.float32) - np.median(rim, axis=0), axis=2)
    for plane in (lab[..., 0], np.clip(away * 2, 0, 255).astype(np.uint8)):
        _, mask = cv2.threshold(np.ascontiguousarray(plane), 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
        yield np.asarray(cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8)), np.uint8)


def _clockwise(quad: NDArray[np.float64]) -> NDArray[np.float64]:
    """Order corners clockwise on screen, beginning with the one nearest to the top left."""
    middle = quad.mean(axis=0)
    turn = np.arctan2(quad[:, 1] - middle[1], quad[:, 0] - middle[0])
    quad = quad[np.argsort(turn)]
    return np.roll(quad, -int(np.argmin(quad.sum(axis=1))), axis=0)
