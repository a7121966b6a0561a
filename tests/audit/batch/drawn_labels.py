"""Drawn labels of one design, photographed one by one as in a shop: another place, light and exposure each time.

The light's colour and fall-off, exposure, tilt, blur, noise and JPEG differ from photo to photo; the camera is one. How
much is judgement, written here; nothing of the program is used for it.
"""

from __future__ import annotations

import cv2
import numpy as np
from drawing.labels import LAYOUTS, PX_PER_MM, LabelText, Layout, draw_label
from numpy.typing import NDArray

ROWS = (("Qty", "10 pcs"), ("Batch", "K40718"), ("Date", "2026-03"), ("Origin", "Slovakia"))
TEXT = LabelText("BRENVOK", "Deep groove ball bearing", "6205-2RS C3", "25 x 52 x 15 mm", ROWS)
SIZE = (1500, 1125)


def label_photo(seed: int, layout: Layout = LAYOUTS[0]) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Return the photo, (H, W, 3) RGB uint8, and the label's four corners in it, clockwise from its own top left."""
    rng = np.random.default_rng(seed)
    flat = (draw_label(TEXT, layout).astype(np.float32) / 255) ** 2.2
    height, width = flat.shape[:2]
    to = _corners(rng, width / height)
    shape = cv2.getPerspectiveTransform(
        np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32), to.astype(np.float32)
    )
    shrink = width / float(np.linalg.norm(to[1] - to[0]))
    laid = cv2.warpPerspective(cv2.GaussianBlur(flat, (0, 0), 0.5 * shrink), shape, SIZE)
    cover = cv2.warpPerspective(np.ones((height, width), np.float32), shape, SIZE)[..., None]
    scene = np.float32([0.30, 0.20, 0.12]) * (1 - cover) + laid * cover
    scene = cv2.GaussianBlur(scene * _light(rng), (0, 0), float(rng.uniform(0.6, 1.3)))
    # One phone: its tone curve and stray light stay as they are.
    level = 255 * np.clip(0.99 * scene + 0.006, 0, 1) ** (1 / 2.15) + rng.normal(0, rng.uniform(1.5, 3.5), scene.shape)
    picture = cv2.cvtColor(np.clip(level, 0, 255).astype(np.uint8), cv2.COLOR_RGB2BGR)
    _, saved = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(75, 95))])
    return np.asarray(cv2.cvtColor(cv2.imdecode(saved, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)), to


def designation_quad(corners: NDArray[np.float64], layout: Layout = LAYOUTS[0]) -> list[tuple[float, float]]:
    """Return where the designation of a design with its band on top stands in the photo."""
    width, height = layout.size_mm
    left, top = 3.5, layout.maker_mm + 5 + 2 + 4.2
    right, bottom = left + 45.0, top + layout.designation_mm
    flat = np.float32([[0, 0], [width, 0], [width, height], [0, height]])
    shape = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
    quad = np.float32([[[left, top], [right, top], [right, bottom], [left, bottom]]])
    return [(float(x), float(y)) for x, y in cv2.perspectiveTransform(quad, shape)[0]]


def _corners(rng: np.random.Generator, aspect: float) -> NDArray[np.float64]:
    wide = SIZE[0] * rng.uniform(0.6, 0.8)
    half = np.array([wide, wide / aspect]) / 2
    flat = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    turn = np.radians(rng.uniform(-8, 8))
    turned = flat @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.asarray(turned + np.array(SIZE) / 2 + rng.uniform(-0.025, 0.025, (4, 2)) * wide)


def _light(rng: np.random.Generator) -> NDArray[np.float32]:
    x, y = np.meshgrid(np.linspace(-1, 1, SIZE[0]), np.linspace(-1, 1, SIZE[1]))
    way, fall, warm = rng.uniform(0, 2 * np.pi), rng.uniform(0, 0.22), rng.uniform(-0.14, 0.14)
    level = (1 + fall * (x * np.cos(way) + y * np.sin(way))) / (1 + fall) * rng.uniform(0.55, 0.95)
    return np.asarray(level[..., None] * np.array([1 + warm, 1, 1 - warm]), np.float32)


__all__ = ["LAYOUTS", "PX_PER_MM", "SIZE", "TEXT", "designation_quad", "label_photo"]
