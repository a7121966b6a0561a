"""Text around a ring: laid out on a strip (angle by radius), then laid in as ink, laser mark or relief."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.blocks import lookup
from drawing.lettering import text_mask
from drawing.surface import Array, Surface, unit


@dataclass(frozen=True, slots=True)
class Marking:
    """What is marked, where and how. Words are spread around the ring in order."""

    words: tuple[str, ...]
    place: str = "ring"
    """``ring``, ``closure`` or ``body`` (moulded into a seal)."""
    style: str = "dark"
    """``dark``, ``light`` or ``relief``."""
    strength: float = 0.8
    inward: bool = False
    """Tops of the letters towards the centre."""
    face: str = "plain"
    defect: str | None = None
    """``uneven``, ``smeared`` or None; a missing or wrong letter is written into the words."""
    start_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class Strip:
    """A ring of text ready to be laid in: mask over angle (columns) and radius (rows, growing outward)."""

    mask: Array
    slope_angle: Array
    slope_radius: Array
    radius_low: float
    radius_high: float
    style: str
    strength: float

    def lay_into(self, seen: Surface, rows: Array, rho: Array, angle: Array) -> None:
        """Change albedo, gloss and normals of the rows that the text covers."""
        span = self.radius_high - self.radius_low
        height, width = self.mask.shape
        v = (rho - self.radius_low) / span * height - 0.5
        near = (v > 0) & (v < height - 1)
        if not near.any():
            return
        rows, v, angle = rows[near], v[near], angle[near]
        u = (angle % (2 * np.pi)) / (2 * np.pi) * width - 0.5
        ink = lookup(self.mask, u, v, wrap=True)
        if self.style == "relief":
            self._raise(seen, rows, u, v, angle)
            seen.albedo[rows] *= 1 + 0.9 * self.strength * ink[:, None]
            return
        cover = (ink * self.strength)[:, None]
        target = np.float32((0.035, 0.034, 0.033)) if self.style == "dark" else np.float32((0.78, 0.78, 0.76))
        cover = cover * (0.92 if self.style == "dark" else 0.75)
        seen.albedo[rows] = seen.albedo[rows] * (1 - cover) + target * cover
        if self.style == "light":
            seen.metal[rows] *= 1 - 0.9 * cover[:, 0]
            seen.groove[rows] *= 1 - cover

    def _raise(self, seen: Surface, rows: Array, u: Array, v: Array, angle: Array) -> None:
        along = lookup(self.slope_angle, u, v, wrap=True)
        out = lookup(self.slope_radius, u, v, wrap=True)
        c, s = np.cos(angle), np.sin(angle)
        lean = np.stack([c * out - s * along, s * out + c * along, np.zeros_like(out)], axis=1)
        normal = seen.normal[rows] - lean * np.float32(1.6 * self.strength)
        seen.normal[rows] = unit(normal)


def make_strip(marking: Marking, radius_mm: float, cap_mm: float, px_per_mm: float, rng: np.random.Generator) -> Strip:
    """Lay the words out around ``radius_mm`` (middle of the letters)."""
    per_mm = float(np.clip(px_per_mm * 2, 10, 60))
    cap = max(8, round(cap_mm * per_mm))
    per_mm = cap / cap_mm
    width, height = round(2 * np.pi * radius_mm * per_mm), round(cap * 1.7)
    mask = np.zeros((height, width), np.float32)
    for number, word in enumerate(marking.words):
        centre = (marking.start_rad / (2 * np.pi) + (number + rng.uniform(-0.08, 0.08)) / len(marking.words)) * width
        _place(mask, _letters(word, cap, marking, rng), round(centre))
    blurred = cv2.GaussianBlur(mask, (0, 0), max(0.6, cap / 22))
    across = cv2.Sobel(blurred, cv2.CV_32F, 1, 0, ksize=3) / 8 * cap * 0.22
    out = cv2.Sobel(blurred, cv2.CV_32F, 0, 1, ksize=3) / 8 * cap * 0.22
    half = height / per_mm / 2
    return Strip(mask, across, out, radius_mm - half, radius_mm + half, marking.style, marking.strength)


def _letters(word: str, cap: int, marking: Marking, rng: np.random.Generator) -> Array:
    ink = text_mask(word, cap, marking.face)
    if marking.defect == "uneven":
        depth = np.interp(np.arange(ink.shape[1]), np.linspace(0, ink.shape[1], 6), rng.uniform(0.25, 1.0, 6))
        ink = ink * depth.astype(np.float32)
    if marking.defect == "smeared":
        ink = cv2.GaussianBlur(ink, (0, 0), sigmaX=cap / 6, sigmaY=cap / 20)
    # Columns run with the angle, rows outward: seen from above, text with its tops outward runs against the angle.
    return ink if marking.inward else ink[::-1, ::-1]


def _place(mask: Array, ink: Array, centre: int) -> None:
    ink = ink[: mask.shape[0] - 2]
    top = (mask.shape[0] - ink.shape[0]) // 2
    columns = (np.arange(ink.shape[1]) + centre - ink.shape[1] // 2) % mask.shape[1]
    mask[top : top + ink.shape[0], columns] = np.maximum(mask[top : top + ink.shape[0], columns], ink)
