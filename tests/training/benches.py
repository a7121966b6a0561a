"""Bench tiles for the path tracer: the drawn benches and some that a repair shop has besides."""

from __future__ import annotations

import numpy as np
from drawing.bench import TILE_PX, make_bench, noise

COUNT = 32
DRAWN = ("wood", "grey", "cardboard", "steel")


def bench_tiles(number: int) -> tuple[np.ndarray, np.ndarray]:
    """Coarse colour (TILE_PX, TILE_PX, 3) and fine grey (TILE_PX, TILE_PX) tile of bench ``number``."""
    rng = np.random.default_rng([number, 77])
    if number % 2 == 0:
        bench = make_bench(DRAWN[number // 2 % 4], rng)
        return bench.coarse, bench.fine
    coarse, fine = (_paper, _towel, _mat, _dirty)[number // 2 % 4](rng)
    return np.clip(coarse, 0.004, 0.9).astype(np.float32), np.clip(fine, 0.3, 1.8).astype(np.float32)


def _colour(rng: np.random.Generator, low: float, high: float, strength: float) -> np.ndarray:
    tone = np.exp(rng.uniform(np.log(low), np.log(high)))
    return (tone * np.exp(rng.normal(0, strength, 3))).astype(np.float32)


def _paper(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """White or tinted paper, now and then with printed lines."""
    coarse = _colour(rng, 0.4, 0.8, 0.05) * (1 + 0.01 * noise(rng, 30, 30))[..., None]
    if rng.random() < 0.5:
        step = int(rng.integers(8, 40))
        coarse[::step] *= 0.45
    return coarse, 1 + 0.012 * noise(rng, 2, 2)


def _towel(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Woven cloth: threads both ways, folds, stains."""
    turn = 2 * np.pi * np.arange(TILE_PX) / TILE_PX
    threads = int(rng.integers(30, 90))
    weave = np.sin(threads * turn)[:, None] * np.sin(threads * turn)[None]
    coarse = _colour(rng, 0.05, 0.6, 0.35) * (1 + 0.12 * noise(rng, 40, 40) + 0.05 * noise(rng, 4, 4))[..., None]
    return coarse, 1 + 0.22 * weave + 0.08 * noise(rng, 1.5, 1.5)


def _mat(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Cutting mat or ribbed rubber."""
    coarse = _colour(rng, 0.015, 0.25, 0.4) * (1 + 0.02 * noise(rng, 20, 20))[..., None]
    if rng.random() < 0.5:
        coarse[:: int(rng.integers(20, 50))] *= 2.0
    turn = 2 * np.pi * np.arange(TILE_PX) / TILE_PX
    ribs = 0.2 * np.sin(int(rng.integers(10, 40)) * turn)[:, None] if rng.random() < 0.5 else 0.0
    return coarse, 1 + ribs + 0.05 * noise(rng, 1.2, 1.2)


def _dirty(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Painted or bare sheet with oil stains and swarf."""
    stains = np.clip(noise(rng, 25, 25), 0, 2)
    specks = np.clip(noise(rng, 1.5, 1.5) - 2.2, 0, 1)
    coarse = _colour(rng, 0.08, 0.5, 0.2) * (1 - 0.3 * stains)[..., None] + 0.4 * specks[..., None]
    return coarse, 1 + 0.08 * noise(rng, 80, 0.9) + 0.04 * noise(rng, 2, 2)
