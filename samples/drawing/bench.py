"""Benches: procedural wood, rubber mat, cardboard and brushed steel as tiles of linear RGB."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drawing.blocks import lookup
from drawing.surface import Array

TILE_PX = 1024
COARSE_MM = 420.0
FINE_MM = 42.0
KINDS = ("wood", "grey", "cardboard", "steel")


@dataclass(frozen=True, slots=True)
class Bench:
    """A coarse coloured tile and a fine grey one, multiplied."""

    kind: str
    coarse: Array
    fine: Array
    turn: float
    offset_mm: Array

    def colour(self, point: Array) -> Array:
        """Albedo (n, 3) at bench points."""
        c, s = np.float32(np.cos(self.turn)), np.float32(np.sin(self.turn))
        x = point[:, 0] * c + point[:, 1] * s + np.float32(self.offset_mm[0])
        y = -point[:, 0] * s + point[:, 1] * c + np.float32(self.offset_mm[1])
        per_mm, fine = np.float32(TILE_PX / COARSE_MM), np.float32(TILE_PX / FINE_MM)
        base = lookup(self.coarse, x * per_mm % TILE_PX, y * per_mm % TILE_PX, wrap=True)
        return base * lookup(self.fine, x * fine % TILE_PX, y * fine % TILE_PX, wrap=True)[:, None]

    @property
    def mean(self) -> Array:
        """Average colour (3,)."""
        return self.coarse.reshape(-1, 3).mean(axis=0)


def noise(rng: np.random.Generator, blur_x: float, blur_y: float) -> Array:
    """Smooth tileable noise (TILE_PX, TILE_PX), zero mean, unit deviation."""
    grain = rng.standard_normal((TILE_PX, TILE_PX)).astype(np.float32)
    across, down = np.fft.rfftfreq(TILE_PX), np.fft.fftfreq(TILE_PX)
    keep = np.exp(-2 * np.pi**2 * ((across * blur_x)[None] ** 2 + (down * blur_y)[:, None] ** 2))
    smooth = np.fft.irfft2(np.fft.rfft2(grain) * keep, s=grain.shape).astype(np.float32)
    return smooth / max(float(smooth.std()), 1e-9)


def make_bench(kind: str, rng: np.random.Generator) -> Bench:
    """Make a bench of a kind in a random tone, turn and place."""
    coarse, fine = {"wood": _wood, "grey": _mat, "cardboard": _cardboard, "steel": _steel}[kind](rng)
    return Bench(
        kind,
        np.clip(coarse, 0.004, 0.9).astype(np.float32),
        np.clip(fine, 0.3, 1.8).astype(np.float32),
        float(rng.uniform(0, 2 * np.pi)),
        rng.uniform(0, COARSE_MM, 2),
    )


def _tone(rng: np.random.Generator, rgb: tuple[float, float, float]) -> Array:
    return np.float32(rgb) * rng.uniform(0.92, 1.08, 3).astype(np.float32) * np.float32(rng.uniform(0.75, 1.25))


def _wood(rng: np.random.Generator) -> tuple[Array, Array]:
    light, dark = _tone(rng, (0.34, 0.225, 0.135)), _tone(rng, (0.15, 0.09, 0.05))
    y = np.arange(TILE_PX, dtype=np.float32)[:, None] / TILE_PX
    rings = np.sin(2 * np.pi * (7 * y + 0.55 * noise(rng, 220, 60))) * 0.5 + 0.5
    share = np.clip(0.55 * rings + 0.22 * noise(rng, 90, 3) + 0.15 * noise(rng, 40, 1.2) + 0.2, 0, 1)
    fibre = 1 + 0.09 * noise(rng, 60, 1.5) + 0.04 * noise(rng, 14, 0.8)
    return light * (1 - share[..., None]) + dark * share[..., None], fibre


def _mat(rng: np.random.Generator) -> tuple[Array, Array]:
    base = _tone(rng, [(0.10, 0.105, 0.11), (0.035, 0.036, 0.04), (0.30, 0.31, 0.32)][rng.integers(3)])
    coarse = base * (1 + 0.03 * noise(rng, 40, 40) + 0.015 * noise(rng, 3, 3))[..., None]
    return coarse, 1 + 0.05 * noise(rng, 5, 5) + 0.045 * noise(rng, 1.6, 1.6)


def _cardboard(rng: np.random.Generator) -> tuple[Array, Array]:
    base = _tone(rng, (0.33, 0.225, 0.135))
    flutes = np.sin(2 * np.pi * 64 * np.arange(TILE_PX) / TILE_PX)[:, None]
    coarse = base * (1 + 0.025 * flutes + 0.04 * noise(rng, 50, 50) + 0.02 * noise(rng, 6, 2))[..., None]
    return coarse, 1 + 0.045 * noise(rng, 6, 3) + 0.03 * noise(rng, 1.2, 1.2)


def _steel(rng: np.random.Generator) -> tuple[Array, Array]:
    base = _tone(rng, (0.30, 0.31, 0.32))
    scratches = 1 + 0.07 * noise(rng, 200, 0.7) + 0.05 * noise(rng, 60, 60)
    return base * scratches[..., None], 1 + 0.06 * noise(rng, 120, 0.8)
