"""Photographs a drawn panel: perspective, light, lens, another camera's tone and colour, blur, noise, JPEG, a bench."""

from __future__ import annotations

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from vision.reference.panel_model import PX_PER_MM, Package, Shot
from vision.reference.printing import draw


def photograph(pack: Package, seed: int, *, most_tilt_deg: float = 30.0, easy: bool = False) -> Shot:
    """Photograph a panel lying on a bench; ``easy`` is the careful photo that a shop keeps as its reference."""
    rng = np.random.default_rng(seed)
    width, height = [(2000, 1500), (1800, 1350), (2400, 1800)][int(rng.integers(3))]
    flat = (draw(pack).astype(np.float32) / 255) ** 2.2
    flat *= 1 + 0.008 * rng.standard_normal(flat.shape[:2]).astype(np.float32)[..., None]
    tilt = float(rng.uniform(0, 10 if easy else most_tilt_deg))
    shape = _camera(pack, rng, (width, height), tilt, 6.0 if easy else 20.0)
    scale = np.diag([1 / PX_PER_MM, 1 / PX_PER_MM, 1.0])
    scene = _bench(rng, (width, height))
    h, w = flat.shape[:2]
    # Averaging before a strong reduction: warpPerspective itself does not.
    shrink = float(np.sqrt(abs(np.linalg.det((shape @ scale)[:2, :2]))))
    soft = cv2.GaussianBlur(flat, (0, 0), max(0.3, 0.45 / max(shrink, 0.1)))
    laid = cv2.warpPerspective(soft, shape @ scale, (width, height), flags=cv2.INTER_LINEAR)
    cover = cv2.warpPerspective(np.ones((h, w), np.float32), shape @ scale, (width, height))[..., None]
    shadow = cv2.GaussianBlur(cover[..., 0], (0, 0), 14)[..., None]
    scene = scene * (1 - 0.35 * shadow) * (1 - cover) + laid * cover
    scene = scene * _light(rng, (width, height), easy=easy)
    if not easy:
        scene = _bent(scene, float(rng.uniform(-0.012, 0.012)))
    scene = cv2.GaussianBlur(scene, (0, 0), float(rng.uniform(0.6, 0.9) if easy else rng.uniform(0.6, 1.5)))
    picture = _developed(scene, rng, easy=easy)
    picture += rng.normal(0, float(rng.uniform(1.0, 2.0) if easy else rng.uniform(1.5, 4.5)), picture.shape)
    out = io.BytesIO()
    rgb = np.clip(picture, 0, 255).astype(np.uint8)
    Image.fromarray(rgb).save(out, "JPEG", quality=int(rng.integers(90, 96) if easy else rng.integers(62, 95)))
    decoded = np.asarray(Image.open(io.BytesIO(out.getvalue())), np.uint8)
    return Shot(decoded, shape, out.getvalue())


def _camera(
    pack: Package, rng: np.random.Generator, size: tuple[int, int], tilt_deg: float, roll_deg: float
) -> NDArray[np.float64]:
    """Homography from mm on the panel to photo px: pinhole camera, panel about filling 55 to 80 % of the width."""
    width, height = size
    focal = 0.9 * max(size) * float(rng.uniform(0.85, 1.3))
    fill = float(rng.uniform(0.55, 0.8))
    distance = focal * max(pack.width / (fill * width), pack.height / (fill * height))
    tilt, azimuth = np.radians(tilt_deg), float(rng.uniform(0, 2 * np.pi))
    axis = np.array([np.cos(azimuth), np.sin(azimuth), 0.0]) * tilt
    roll = np.radians(float(rng.uniform(-roll_deg, roll_deg)))
    turn = cv2.Rodrigues(np.array([0, 0, roll]))[0] @ cv2.Rodrigues(axis)[0]
    lens = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1.0]])
    middle = np.array([pack.width / 2, pack.height / 2, 0.0])
    shift = np.array([*rng.uniform(-0.03, 0.03, 2) * distance, distance]) - turn @ middle
    shape = lens @ np.column_stack([turn[:, 0], turn[:, 1], shift])
    return np.asarray(shape / shape[2, 2])


def _bench(rng: np.random.Generator, size: tuple[int, int]) -> NDArray[np.float32]:
    width, height = size
    tone = np.array(rng.choice([[0.30, 0.20, 0.12], [0.20, 0.21, 0.22], [0.12, 0.16, 0.13]]), np.float32)
    grain = np.zeros((height, width), np.float32)
    for blur, weight in ((3, 0.04), (12, 0.07), (60, 0.08)):
        small = rng.standard_normal((height // blur + 2, width // blur + 2)).astype(np.float32)
        grain += weight * cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)
    return np.asarray(np.clip(tone * (1 + grain[..., None]), 0, 1), np.float32)


def _light(rng: np.random.Generator, size: tuple[int, int], *, easy: bool) -> NDArray[np.float32]:
    width, height = size
    x, y = np.meshgrid(np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height, dtype=np.float32))
    strength = float(rng.uniform(0, 0.08 if easy else 0.30))
    way = float(rng.uniform(0, 2 * np.pi))
    level = (
        1
        + strength * (x * np.cos(way) + y * np.sin(way))
        - (0.05 if easy else 0.12) * (x**2 + y**2) * float(rng.random())
    )
    warm = float(rng.uniform(-0.04, 0.04) if easy else rng.uniform(-0.16, 0.16))
    colour = np.array([1 + warm, 1.0, 1 - warm], np.float32)
    bright = float(rng.uniform(0.86, 0.96) if easy else rng.uniform(0.55, 0.98))
    return np.asarray(level[..., None] * colour * bright / (1 + strength), np.float32)


def _bent(scene: NDArray[np.float32], k1: float) -> NDArray[np.float32]:
    height, width = scene.shape[:2]
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    f, cx, cy = 0.9 * width, width / 2, height / 2
    u, v = (x - cx) / f, (y - cy) / f
    swell = 1 + k1 * (u**2 + v**2)
    out = cv2.remap(scene, u * swell * f + cx, v * swell * f + cy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(out, np.float32)


def _developed(scene: NDArray[np.float32], rng: np.random.Generator, *, easy: bool) -> NDArray[np.float64]:
    """Camera: colour matrix of its own, tone curve of its own, stray light."""
    if not easy:
        strength = float(rng.uniform(-0.04, 0.05))
        matrix = np.eye(3) * (1 + strength) - strength / 3
        matrix += rng.uniform(-0.012, 0.012, (3, 3)) * (1 - np.eye(3))
        matrix /= matrix.sum(axis=1, keepdims=True)
        scene = np.asarray(scene @ matrix.T.astype(np.float32), np.float32)
        scene = scene * 0.985 + 0.015 * float(rng.random())
    gamma = 2.2 * (1.0 if easy else float(rng.uniform(0.93, 1.08)))
    return np.asarray(255 * np.clip(scene, 0, 1) ** (1 / gamma), np.float64)
