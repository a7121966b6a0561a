"""Made-up parts with real text around them, for path_tracer.cu, and where in the picture each text lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import mark_texts
import numpy as np
import traced
from drawing import sizes
from drawing.camera import Camera, ellipse_of_circle
from drawing.profiles import Piece
from drawing.scene_spec import SealPart
from drawing.truth import circles_of

MOST_TEXTS = 6


@dataclass(frozen=True, slots=True)
class MarkedScene:
    """A scene with its texts."""

    scene: np.ndarray
    """() of traced.SCENE; its ``mark`` is to be set by who lays the strips out."""
    strip: np.ndarray
    """(MARK_ROWS, MARK_COLUMNS) uint8."""
    circles: np.ndarray
    """(4, 5) in pixels, as in traced.CIRCLES."""
    outer_mm: float
    texts: tuple[str, ...]
    spans: np.ndarray
    """(texts, 3, 2): pixels of each text's first column, middle and last column, halfway up the capitals, in the
    order in which strip columns run."""
    radius_share: float
    """Radius of the middle of the capitals by the outer radius."""
    capital_share: float
    """Height of the capitals by the outer radius."""
    inward: bool
    band: np.ndarray
    """(2, 5): outer and inner ellipse of what has to be traced."""


def marked_scene(
    rng: np.random.Generator, fonts: Path, frame: traced.Frame, texts: tuple[str, ...] = ()
) -> MarkedScene:
    """Make up one scene; with ``texts`` a bearing that carries them."""
    while True:
        made = _try(rng, fonts, frame, texts)
        if made is not None and (len(made.texts) == len(texts) if texts else made.texts):
            return made


def _try(rng: np.random.Generator, fonts: Path, frame: traced.Frame, texts: tuple[str, ...]) -> MarkedScene | None:
    scene = np.zeros((), traced.SCENE)
    rubber = traced.RUBBERS[rng.integers(len(traced.RUBBERS))]
    polished = rng.random() < 0.3
    seal = rng.random() < 0.08 and not texts
    if seal:
        size = sizes.SEALS[rng.integers(len(sizes.SEALS))]
        spec = SealPart(size, str(rng.choice(["spring_side", "back"])))
        pieces, circles, outside, height, closure = traced._seal_pieces(spec), circles_of(spec), size[1], size[2], ""
        low, high = _span_of(pieces, "seal_face")
    else:
        part = traced.made_up_bearing(rng, polished=polished)
        pieces, circles, closure = part.pieces(), part.circles(), part.closure
        outside, height, s = part.shape.od_mm, part.shape.width_mm, part.shape
        traced._mark_and_fill(scene, part, rng)
        low, high = part.outer_land, s.outer - part.outer.radial
        if closure != "open" and rng.random() < 0.4:
            low, high = _span_of(pieces, closure if closure == "shield" else "rubber")
    outer = outside / 2
    capital = min(0.9 * (high - low), outer * float(rng.uniform(0.05, 0.1))) * float(rng.uniform(0.75, 1.0))
    if capital < 0.035 * outer:
        return None
    spare = (high - low) - capital
    middle = low + capital / 2 + spare * float(np.clip(rng.normal(0.5, 0.18), 0.05, 0.95))
    band = capital * traced.MARK_ROWS / mark_texts.CAPITAL_ROWS
    inward = bool(rng.random() < 0.5)
    strip, placed = mark_texts.strip_of(
        mark_texts.font_files(fonts), rng, row_mm=band / traced.MARK_ROWS,
        column_mm=2 * math.pi * middle / traced.MARK_COLUMNS, inward=inward, texts=texts,
    )  # fmt: skip
    if rng.random() < 0.3:
        strip = np.roll(strip, shift := int(rng.integers(traced.MARK_COLUMNS)), axis=1)
        placed = [mark_texts.Placed(p.text, p.first + shift, p.last + shift) for p in placed]
    camera, distance, reach = traced._camera(outside, height, frame, rng)
    scene["eye"], (scene["right"], scene["down"], scene["forward"]) = camera.position_mm, camera.rotation
    scene["focal_px"], (scene["cx"], scene["cy"]) = camera.focal_px, camera.centre_px
    scene["reach_px"], scene["focus_mm"] = reach, distance * rng.uniform(0.95, 1.06)
    scene["lens_mm"] = rng.uniform(0.2, 1.2) if rng.random() < 0.3 else 0.0
    scene["material"] = traced._materials(rng, closure, rubber)
    if polished:
        traced._polish(scene["material"], rng)
    scene["glyph_seed"] = rng.integers(1, 30000)
    scene["glyph_low"], scene["glyph_high"] = middle - band / 2, middle + band / 2
    _ink(scene, rng, soft=seal or (closure == "rubber_seal" and high < 0.9 * outer), capital=capital)
    traced._put(scene, pieces, 0.0, 0.0)
    traced._bench(scene, outside, rng, polished=polished)
    traced._light(scene, camera, rng)
    surface = _height_at(pieces, middle)
    ellipses = [ellipse_of_circle(camera, *circles[name]) for name in traced.CIRCLES]
    edges = [
        ellipse_of_circle(camera, r, surface) for r in (middle + 1.25 * band, max(middle - 1.25 * band, 0.2 * outer))
    ]
    return MarkedScene(
        scene, strip, _rows(ellipses), outer, tuple(mark_texts.as_shown(p.text) for p in placed[:MOST_TEXTS]),
        np.array([_spans(camera, p, middle, surface) for p in placed[:MOST_TEXTS]], np.float32).reshape(-1, 3, 2),
        middle / outer, capital / outer, inward, _rows(edges),
    )  # fmt: skip


def _rows(ellipses: list[dict[str, float]]) -> np.ndarray:
    return np.array([[e[k] for k in ("cx", "cy", "a", "b", "angle_deg")] for e in ellipses], np.float32)


def _spans(camera: Camera, placed: mark_texts.Placed, radius: float, z: float) -> np.ndarray:
    angles = [mark_texts.angle_of(c) for c in (placed.first, (placed.first + placed.last) / 2, placed.last)]
    return camera.project(np.array([[radius * math.cos(a), radius * math.sin(a), z] for a in angles]))


def _span_of(pieces: list[Piece], material: str) -> tuple[float, float]:
    """Inner and outer radius of a surface's widest nearly level stretch."""
    level = [
        p for p in pieces if p.material == material and abs(p.start[1] - p.end[1]) < 0.3 * abs(p.start[0] - p.end[0])
    ]
    widest = max(level, key=lambda p: abs(p.start[0] - p.end[0]))
    return min(widest.start[0], widest.end[0]), max(widest.start[0], widest.end[0])


def _height_at(pieces: list[Piece], radius: float) -> float:
    heights = [0.0]
    for p in pieces:
        low, high = sorted((p.start[0], p.end[0]))
        if low <= radius <= high and high > low:
            share = (radius - p.start[0]) / (p.end[0] - p.start[0])
            heights.append(p.start[1] + share * (p.end[1] - p.start[1]))
    return max(heights)


def _ink(scene: np.ndarray, rng: np.random.Generator, *, soft: bool, capital: float) -> None:
    """Another surface where the text is: blackened, made dull, printed, or pressed in."""
    kind = rng.random()
    share = float(rng.uniform(0.3, 1.0))
    if soft:
        pale = kind < 0.75
        tint = rng.uniform(0.35, 0.85) * np.array([1, rng.uniform(0.8, 1), rng.uniform(0.5, 1)])
        _set(scene, tint if pale else rng.uniform(0.003, 0.01) * np.ones(3), 0.0, 0.3, share, 0.0)
        if kind > 0.6:
            scene["mark_relief"] = _relief(rng, capital)
        return
    if kind < 0.45:  # blackened by a laser or an acid
        _set(
            scene,
            np.exp(rng.uniform(math.log(0.02), math.log(0.3))) * np.ones(3),
            float(rng.random() < 0.3),
            0.3,
            share,
            0.0,
        )
    elif kind < 0.8:  # made dull: pale beside a mirror, dark in a highlight
        metal = float(rng.random() < 0.35)
        _set(scene, rng.uniform(0.4, 0.9) * np.ones(3), metal, float(rng.uniform(0.25, 0.6)), share, 0.0)
    else:  # pressed or rolled in
        _set(
            scene,
            rng.uniform(0.2, 0.6) * np.ones(3),
            1.0,
            0.2,
            share * float(rng.uniform(0, 0.7)),
            _relief(rng, capital),
        )


def _relief(rng: np.random.Generator, capital: float) -> float:
    return float(rng.choice([-1.0, 1.0])) * capital * float(rng.uniform(0.008, 0.05))


def _set(scene: np.ndarray, rgb: np.ndarray, metal: float, spread: float, share: float, relief: float) -> None:
    scene["mark_rgb"], scene["mark_metal"], scene["mark_spread"] = rgb, metal, spread
    scene["mark_share"], scene["mark_relief"] = share, relief
