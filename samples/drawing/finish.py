"""From light to a phone's JPEG: lens shading, focus and motion blur, sensor noise, exposure, tone, compression."""

from __future__ import annotations

import cv2
import numpy as np

from drawing.scene_spec import FinishSpec
from drawing.surface import Array


def develop(light: Array, spec: FinishSpec, rng: np.random.Generator) -> Array:
    """8-bit BGR picture of linear RGB light."""
    light = _bloom(light)
    light = _blurred(light, spec) * _vignette(light.shape[:2], spec.vignette)[..., None]
    light = light * spec.exposure * _metered(light)
    light = light + rng.standard_normal(light.shape).astype(np.float32) * spec.noise * np.sqrt(np.clip(light, 0.01, 1))
    coded = _tone(np.clip(light, 0, None))
    grain = cv2.GaussianBlur(rng.standard_normal((*light.shape[:2], 3)).astype(np.float32), (0, 0), 0.8)
    coded = coded + grain * spec.noise * 0.9
    return np.ascontiguousarray(np.clip(coded[..., ::-1] * 255 + 0.5, 0, 255).astype(np.uint8))


def _metered(light: Array) -> float:
    """Automatic exposure: brings the middle to grey, less than fully, and holds back for bright areas."""
    grey = cv2.resize(light.mean(axis=2), None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    middle, bright = (max(float(v), 1e-6) for v in np.percentile(grey, [60, 97]))
    return float(min((0.24 / middle) ** 0.85, 1.05 / bright))


def _tone(light: Array) -> Array:
    """Soft shoulder, then the sRGB curve."""
    bent = np.where(light < 0.6, light, 0.6 + 0.4 * (1 - np.exp(-(light - 0.6) / 0.4)))
    return np.where(bent < 0.0031308, 12.92 * bent, 1.055 * np.maximum(bent, 1e-6) ** (1 / 2.4) - 0.055)


def _bloom(light: Array) -> Array:
    """A little stray light around the brightest spots, as in small lenses."""
    bright = np.clip(light - 3 * float(light.mean()), 0, 12 * float(light.mean()))
    small = cv2.resize(bright, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    glow = cv2.GaussianBlur(small, (0, 0), 6)
    return light + 0.05 * cv2.resize(glow, light.shape[1::-1], interpolation=cv2.INTER_LINEAR)


def _blurred(light: Array, spec: FinishSpec) -> Array:
    light = cv2.GaussianBlur(light, (0, 0), 0.55)  # no lens is sharper than its pixels
    if spec.blur_px > 0.05:
        light = cv2.GaussianBlur(light, (0, 0), spec.blur_px)
    if spec.motion_px >= 1:
        size = int(np.ceil(spec.motion_px)) | 1
        kernel = np.zeros((size, size), np.float32)
        reach = np.array([np.cos(np.radians(spec.motion_deg)), np.sin(np.radians(spec.motion_deg))]) * (size - 1) / 2
        middle = np.array([size // 2] * 2)
        ends = [tuple(int(v) for v in np.round(middle + sign * reach)) for sign in (-1, 1)]
        cv2.line(kernel, ends[0], ends[1], 1.0, 1)
        light = cv2.filter2D(light, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE)
    return light


def _vignette(shape: tuple[int, int], strength: float) -> Array:
    y, x = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    return (1 - strength * (x**2 + y**2) / 2).astype(np.float32)
