"""Path-traced close-ups with exact circles: training pictures in which steel mirrors what is truly around it.

    python tests/training/traced.py --out DIR --seed 21 --count 12000 --workers 15 --samples 20 [--polished]

With ``--polished`` every bearing has rounded, polished chamfers on a patterned bench, as many real ones have: the
outer third of such a chamfer mirrors the bench beside the part, so that the mirrored pattern is easily taken for the
bench itself and the part for smaller than it is. The circles are those of the steel, as always.

Builds path_tracer.cu with nvcc (GPU) or g++ (CPU, slow: for a look or a small test set), makes up scenes, traces them,
develops them as a phone does and writes DIR/tNUMBER.npz as scenes.py does. Scene k of a seed is always the same; its
picture differs between GPU and CPU in the noise.

What a drawn scene lacks and these have: chamfers, faces and benches light and mirror each other to six bounces; lamps
of any size with soft contact shadows; the dark phone above the part; brushed and ground steel that spreads highlights
across its marks; oil and smears; defocus through a real aperture; chamfers with unequal legs and any shape from round
to flat (ISO 582 lets the axial leg be up to twice the radial one; from memory).
"""

from __future__ import annotations

import argparse
import ctypes
import math
import multiprocessing
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "samples"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from benches import COUNT as BENCH_COUNT
from benches import bench_tiles
from drawing import profiles, sizes
from drawing.camera import Camera, ellipse_of_circle, look_at
from drawing.finish import develop
from drawing.profiles import Piece, Profile, SealShape
from drawing.scene_spec import FinishSpec, SealPart
from drawing.truth import circles_of

SIDE_PX = 480
SEAL_SHARE = 0.14
CIRCLES = ("od_full", "od_top_edge", "bore_top_edge", "bore_full")
MATERIALS = (
    "od_wall", "ring", "inner_ring", "ring_wall", "ring_dark", "recess", "bore_wall", "groove", "gap", "closure",
    "seal_face", "seal_trough", "seal_lip", "clutter", "chamfer",
)  # fmt: skip
SAME = {"shield": "closure", "rubber": "closure", "seal_wall": "seal_face"}
RUBBERS = ((0.012, 0.012, 0.013), (0.02, 0.02, 0.022), (0.28, 0.05, 0.03), (0.09, 0.035, 0.015), (0.02, 0.06, 0.2))
F4 = "<f4"
PIECE = np.dtype((F4, (10,)))
SCENE = np.dtype(
    [("eye", F4, 3), ("right", F4, 3), ("down", F4, 3), ("forward", F4, 3)]
    + [(n, F4) for n in ("focal_px", "cx", "cy", "lens_mm", "focus_mm", "reach_px")]
    + [(n, F4) for n in ("bodies", "balls", "ball_pitch", "ball_z", "ball_radius", "ball_turn")]
    + [(f"bench{n}", F4) for n in ("", "_turn", "_x", "_y", "_gloss", "_metal", "_across", "_along")]
    + [(n, F4) for n in ("card", "card_x", "card_y", "card_turn", "lamps", "lobes", "phone_u", "phone_v")]
    + [(f"glyph_{n}", F4) for n in ("low", "high", "count", "start", "light", "seed")]
    + [(f"mark{n}", F4) for n in ("", "_metal", "_spread", "_share", "_relief")]
    + [("mark_rgb", F4, 3)]
    + [("ambient", F4, 3), ("ground", F4, 3), ("body", F4, (4, 6)), ("lamp", F4, (4, 12)), ("lobe", F4, (6, 7))]
    + [("material", F4, (len(MATERIALS), 10)), ("piece", F4, (64, 10))]
)
"""The struct Scene of path_tracer.cu."""
MARK_COLUMNS, MARK_ROWS = 4096, 64
"""A strip of text for one turn, as in path_tracer.cu: columns clockwise seen from above, row 0 outermost."""
LAMPS = {  # half-sides (mm), distances (mm), height angles (deg)
    "window": ((260, 330), (900, 1400), (20, 60)),
    "tube": ((520, 22), (800, 1200), (50, 88)),
    "bulb": ((45, 45), (350, 650), (30, 80)),
    "softbox": ((160, 160), (350, 700), (35, 88)),
    "strip": ((200, 12), (250, 500), (25, 75)),
    "flash": ((5, 5), (0, 0), (80, 90)),
}


@dataclass(frozen=True, slots=True)
class Frame:
    """Side of the square picture and range of the outer radius in it, pixels."""

    side_px: int
    radii_px: tuple[float, float]


CLOSE_UP = Frame(SIDE_PX, (42, 218))


@dataclass(frozen=True, slots=True)
class Legs:
    """A chamfer: radial and axial legs, mm, and its form: 0 a quarter ellipse, 1 a flat bevel."""

    radial: float
    axial: float
    bevel: float


def _chamfer(ring: Profile, r: float, z: float, bevel: float, *, rising_first: bool, steps: int = 5) -> None:
    """Round or flat, or between: a superellipse whose pieces carry the normals of its own curve."""
    (r0, z0), power = ring.at, 2.0 / (2.0 - min(bevel, 0.999))
    turns = np.linspace(0, math.pi / 2, steps + 1) if bevel < 0.95 else np.array([0, math.pi / 2])
    for turn, before in zip(turns[1:], turns[:-1], strict=True):
        away, along = 1 - math.cos(turn) ** power, math.sin(turn) ** power
        share_r, share_z = (away, along) if rising_first else (along, away)
        start, end = ring.at, (r0 + (r - r0) * share_r, z0 + (z - z0) * share_z)
        flat = profiles._unit(end[1] - start[1], start[0] - end[0])
        normals = (flat, flat)
        if bevel < 0.95:
            normals = tuple(
                _mixed(profiles._edge_normal((r0, z0), (r, z), t, rising_first), flat, bevel) for t in (before, turn)
            )
        ring.pieces.append(Piece(start, end, ring.material, *normals))
        ring.at = end


def _mixed(one: tuple[float, float], other: tuple[float, float], share: float) -> tuple[float, float]:
    return profiles._unit(one[0] * (1 - share) + other[0] * share, one[1] * (1 - share) + other[1] * share)


@dataclass(frozen=True, slots=True)
class TracedBearing:
    """Made-up dimensions, mm, and what closes the face."""

    shape: profiles.BearingShape
    outer: Legs
    inner: Legs
    outer_land: float
    inner_land: float
    closure: str
    recess: float
    """The closure lies this much lower than the face."""
    polished: bool = False
    """The chamfers have a finish of their own."""

    def pieces(self) -> list[Piece]:
        """The half section."""
        s, top, edge = self.shape, self.shape.width_mm, 0.02 * self.shape.section
        ring = Profile((s.outer - self.outer.radial, 0.0), "chamfer" if self.polished else "ring")
        _chamfer(ring, s.outer, self.outer.axial, self.outer.bevel, rising_first=False, steps=2)
        ring.to(s.outer, top - self.outer.axial, material="od_wall")
        ring.material = "chamfer" if self.polished else "ring"
        _chamfer(ring, s.outer - self.outer.radial, top, self.outer.bevel, rising_first=True)
        ring.material = "ring"
        ring.to(self.outer_land + edge, top)
        ring.to(self.outer_land, top - edge)
        wall = Profile((self.inner_land, top * 0.5), "ring_dark")
        wall.to(self.inner_land, top - edge)
        wall.to(self.inner_land - edge, top, material="inner_ring")
        wall.to(s.inner + self.inner.radial, top)
        wall.material = "chamfer" if self.polished else wall.material
        _chamfer(wall, s.inner, top - self.inner.axial, self.inner.bevel, rising_first=False)
        wall.to(s.inner, self.inner.axial, material="bore_wall")
        wall.material = "chamfer" if self.polished else "inner_ring"
        _chamfer(wall, s.inner + self.inner.radial, 0.0, self.inner.bevel, rising_first=True, steps=2)
        return ring.pieces + self._between() + wall.pieces

    def _between(self) -> list[Piece]:
        form = {"open": profiles.open_interior, "shield": profiles.shield, "rubber_seal": profiles.rubber_closure}
        drawn = form[self.closure](self.shape)
        low, high = self.shape.inner_shoulder, self.shape.outer_shoulder(closed=self.closure != "open")
        grow = (self.outer_land - self.inner_land) / (high - low)

        def moved(at: tuple[float, float]) -> tuple[float, float]:
            down = self.recess if self.closure != "open" else 0.0
            return self.inner_land + (at[0] - low) * grow, max(at[1] - down, 0.0)

        return [replace(p, start=moved(p.start), end=moved(p.end)) for p in drawn.pieces]

    def circles(self) -> dict[str, tuple[float, float]]:
        """Radius and height of the four labelled circles."""
        s, top = self.shape, self.shape.width_mm
        return {
            "od_full": (s.outer, top - self.outer.axial),
            "od_top_edge": (s.outer - self.outer.radial, top),
            "bore_top_edge": (s.inner + self.inner.radial, top),
            "bore_full": (s.inner, top - self.inner.axial),
        }


def made_up_bearing(rng: np.random.Generator, *, polished: bool = False) -> TracedBearing:
    """Any proportions, not those of the table; polished chamfers are quarter circles."""
    bore = float(np.exp(rng.uniform(math.log(5), math.log(60))))
    outside = bore / float(rng.uniform(0.26, 0.78))
    section = (outside - bore) / 2
    width = float(np.clip(section * rng.uniform(0.7, 1.7), 0.15 * bore, 1.2 * bore + 3))
    leg = float(np.clip(np.exp(rng.normal(math.log(0.034), 0.38)), 0.012, 0.085)) * outside / 2
    leg = min(leg, 0.2 * section, 0.3 * width)
    bevel = 0.0 if rng.random() < 0.5 else float(rng.uniform(0.2, 1.0))
    bevel = 0.0 if polished else bevel

    def legs(radial: float) -> Legs:
        longer = float(rng.uniform(1.0, 1.8)) if rng.random() < 0.35 and not polished else 1.0
        return Legs(radial, min(radial * longer, 0.35 * width), bevel)

    other = leg * float(np.exp(rng.normal(0, 0.25))) if rng.random() < (0.2 if polished else 0.4) else leg
    shape = profiles.BearingShape(bore, outside, width, leg)
    closure = str(rng.choice(["open", "shield", "rubber_seal"]))
    return TracedBearing(
        shape, legs(leg), legs(min(other, 0.2 * section)), shape.inner + float(rng.uniform(0.63, 0.78)) * section,
        shape.inner + float(rng.uniform(0.29, 0.40)) * section, closure, float(rng.uniform(0, 0.08)) * section,
        polished,
    )  # fmt: skip


def _seal_pieces(part: SealPart) -> list[Piece]:
    shape = SealShape(*part.size)
    if part.lip_face == "back":
        return profiles.seal_back(shape).pieces
    pieces = profiles.seal_spring_side(shape).pieces
    thick = shape.outer - shape.lip
    middle, round_r = shape.lip + 0.57 * thick, 0.1 * thick
    turns = np.linspace(-0.6, math.pi + 0.6, 9)
    at = [(middle + round_r * math.cos(t), shape.width_mm * 0.55 + round_r * math.sin(t)) for t in turns]
    spring = [
        Piece(a, b, "groove", (math.cos(t), math.sin(t)), (math.cos(u), math.sin(u)))
        for a, b, t, u in zip(at[:-1], at[1:], turns[:-1], turns[1:], strict=True)
    ]
    return pieces + spring


def _materials(rng: np.random.Generator, closure: str, rubber: tuple[float, float, float]) -> np.ndarray:
    """Rows rgb, metal, spread across and along the marks, marks, marks a mm, haze, gloss."""
    tone = np.array((0.62, 0.61, 0.59)) * rng.uniform(0.75, 1.15) * rng.uniform(0.97, 1.03, 3)
    ground, mirror = float(np.exp(rng.uniform(math.log(0.03), math.log(0.30)))), float(rng.uniform(0.3, 1.0))
    marks, haze = float(rng.uniform(0, 0.06)), float(rng.uniform(0, 0.25)) if rng.random() < 0.6 else 0.02
    per_mm = float(rng.uniform(2, 12))

    def steel(share: float, spread: float, lines: float = 1.0) -> list[float]:
        return [*(tone * share), 1.0, max(spread, 0.01), max(spread * mirror * 0.5, 0.008), marks * lines, per_mm,
                haze, 0.0]  # fmt: skip

    def soft(rgb: tuple[float, float, float], gloss: float) -> list[float]:
        return [*rgb, 0.0, 0.2, 0.2, 0.01, per_mm, haze, gloss]

    rows = {
        "od_wall": steel(1, ground * 0.5), "ring": steel(1, ground), "inner_ring": steel(1, ground),
        "ring_wall": steel(0.8, 0.1), "ring_dark": steel(0.8, 0.1), "recess": steel(0.8, 0.12),
        "bore_wall": steel(1, ground * 0.5), "groove": steel(0.85, 0.05), "gap": soft((0.01, 0.01, 0.01), 0.0),
        "closure": steel(rng.uniform(0.85, 1.1), rng.uniform(0.04, 0.25)) if closure == "shield" else soft(rubber, 0.6),
        "seal_face": soft(rubber, float(rng.uniform(0.2, 1))), "seal_trough": soft(rubber, 0.4),
        "seal_lip": soft(rubber, 0.7),
        "clutter": steel(0.7, 0.2) if rng.random() < 0.6 else soft(tuple(rng.uniform(0.02, 0.5, 3)), 0.4),
        "chamfer": steel(1, ground),
    }  # fmt: skip
    return np.array([rows[name] for name in MATERIALS], np.float32)


def _polish(rows: np.ndarray, rng: np.random.Generator) -> None:
    """Brighter steel whose chamfers mirror, and now and then the walls beside them; the faces stay ground."""
    for name in ("chamfer", "od_wall", "bore_wall"):
        if name != "chamfer" and rng.random() < 0.5:
            continue
        row = rows[MATERIALS.index(name)]
        row[4] = math.exp(rng.uniform(math.log(0.01), math.log(0.14)))
        row[5] = max(row[4] * rng.uniform(0.5, 1.0), 0.008)
        row[6] *= rng.uniform(0, 0.5)
        row[8] *= rng.uniform(0, 1)
    bright = rng.uniform(0.55, 0.92) / rows[MATERIALS.index("chamfer"), 1]  # from stainless steel to chrome and silver
    for name in ("chamfer", "ring", "inner_ring", "od_wall", "bore_wall"):
        rows[MATERIALS.index(name), :3] *= bright
        rows[MATERIALS.index(name), 9] = 1.0  # along its surface steel mirrors everything (Fresnel, after Schlick)


def _lamp(kind: str, camera: Camera, rng: np.random.Generator) -> np.ndarray:
    """Middle, half-sides and radiance; an empty bench at the origin gets about one unit."""
    half, far, high = LAMPS[kind]
    turn, angle = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(*high))
    middle = rng.uniform(*far) * np.array([np.cos(turn) * np.cos(angle), np.sin(turn) * np.cos(angle), np.sin(angle)])
    if kind == "flash":
        middle = camera.position_mm + camera.rotation.T @ np.array([rng.uniform(8, 20), rng.normal(0, 6), -1.0])
    toward = middle / np.linalg.norm(middle)
    side = np.cross(toward, [0.3 * rng.normal(), 0.3 * rng.normal(), 1.0])
    side /= np.linalg.norm(side)
    # A lamp as small as a phone's would need thousands of paths; the halo of a real lens widens it as well.
    half = np.maximum(half, 0.05 * np.linalg.norm(middle))
    u, v = side * half[0], np.cross(toward, side) * half[1]
    light = math.pi * float(middle @ middle) / (4 * half[0] * half[1] * max(toward[2], 0.2))
    warm = rng.uniform(-0.15, 0.15)
    return np.concatenate([middle, u, v, light * rng.uniform(0.4, 1.2) * np.array([1 + warm, 1.0, 1 - warm])])


def _light(scene: np.ndarray, camera: Camera, rng: np.random.Generator) -> None:
    kinds = rng.choice(list(LAMPS), size=rng.integers(0, 4))
    for place, kind in enumerate(kinds):
        scene["lamp"][place] = _lamp(str(kind), camera, rng)
    scene["lamps"] = len(kinds)
    scene["ambient"] = np.exp(rng.uniform(math.log(0.04), math.log(0.5))) * rng.uniform(0.92, 1.08, 3)
    lobes = int(rng.integers(0, 7)) if len(kinds) else int(rng.integers(2, 7))
    for place in range(lobes):
        way = rng.normal(0, 1, 3)
        way[2] = abs(way[2]) * 0.8
        bright = rng.uniform(-0.5, 2.0) if rng.random() < 0.7 else -0.6
        light = bright * scene["ambient"].mean() * rng.uniform(0.85, 1.15, 3)
        scene["lobe"][place] = [*(way / np.linalg.norm(way)), float(np.exp(rng.uniform(0, 4))), *light]
    scene["lobes"] = lobes
    if rng.random() < 0.75:
        scene["phone_u"], scene["phone_v"] = rng.uniform(25, 60), rng.uniform(60, 120)


def _bench(scene: np.ndarray, outside: float, rng: np.random.Generator, *, polished: bool = False) -> None:
    number = int(rng.integers(BENCH_COUNT))
    if polished and rng.random() < 0.35:
        number -= number % 8  # wood: its grain runs on in the mirror
    scene["bench"], scene["bench_turn"] = number, rng.uniform(0, 2 * np.pi)
    scene["bench_x"], scene["bench_y"] = rng.uniform(0, 420, 2)
    scene["bench_gloss"] = rng.uniform(0.2, 1.0) if rng.random() < 0.35 else 0.0
    scene["bench_across"], scene["bench_along"] = rng.uniform(0.1, 0.4), rng.uniform(0.05, 0.3)
    scene["bench_metal"] = rng.uniform(0.4, 0.9) if rng.random() < 0.08 else 0.0
    if rng.random() < 0.4:
        far, way = outside / 2 + rng.uniform(36, 55), rng.uniform(0, 2 * np.pi)
        scene["card"], scene["card_x"], scene["card_y"] = 1, far * np.cos(way), far * np.sin(way)
        scene["card_turn"] = rng.uniform(0, 2 * np.pi)


def _camera(outside: float, height: float, frame: Frame, rng: np.random.Generator) -> tuple[Camera, float, float]:
    radius_px = float(np.exp(rng.uniform(*np.log(frame.radii_px))))
    distance = outside * float(np.exp(rng.uniform(math.log(1.2), math.log(8.0))))
    focal_px = radius_px * distance / (outside / 2)
    spare = max(frame.side_px / 2 - radius_px * 1.06, 0.0) / radius_px * outside / 2
    tilt = float(rng.uniform(0, 14) if rng.random() < 0.5 else rng.uniform(5, 45))
    aim = np.array([*(rng.uniform(-0.7, 0.7, 2) * spare), height])
    turns = rng.uniform(0, 360, 2)
    camera = look_at(
        width_px=frame.side_px, height_px=frame.side_px, focal_px=focal_px, target_mm=aim, distance_mm=distance,
        tilt_deg=tilt, azimuth_deg=float(turns[0]), roll_deg=float(turns[1]),
    )  # fmt: skip
    return camera, distance, 1.5 * radius_px + 0.7 * spare * radius_px / (outside / 2)


def _put(scene: np.ndarray, pieces: list[Piece], x: float, y: float) -> None:
    first = int(scene["body"][: int(scene["bodies"]), 5].sum())
    for place, p in enumerate(pieces):
        name = MATERIALS.index(SAME.get(p.material, p.material))
        scene["piece"][first + place] = [*p.start, *p.end, *p.normal_start, *p.normal_end, name, 1.0]
    ends = np.array([q for p in pieces for q in (p.start, p.end)])
    scene["body"][int(scene["bodies"])] = [x, y, ends[:, 0].max() * 1.01, ends[:, 1].max() * 1.01, first, len(pieces)]
    scene["bodies"] += 1


def _clutter(scene: np.ndarray, outside: float, rng: np.random.Generator) -> None:
    for _ in range(int(rng.choice([0, 0, 0, 1, 2]))):
        outer = outside * rng.uniform(0.12, 0.5)
        inner = outer * rng.uniform(0.3, 0.7) if rng.random() < 0.6 else 0.0
        far, way = outside / 2 + outer + rng.uniform(0.01, 0.6) * outside, rng.uniform(0, 2 * np.pi)
        thing = profiles.washer(outer, inner, float(outer * rng.uniform(0.1, 0.6)))
        _put(scene, thing.pieces, far * np.cos(way), far * np.sin(way))


def made_up_scene(
    rng: np.random.Generator, *, polished: bool = False, frame: Frame = CLOSE_UP
) -> tuple[np.ndarray, np.ndarray]:
    """One scene () of `SCENE` and its circles (4, 5) in pixels."""
    scene = np.zeros((), SCENE)
    rubber = RUBBERS[rng.integers(len(RUBBERS))]
    if rng.random() < SEAL_SHARE:
        size = sizes.SEALS[rng.integers(len(sizes.SEALS))]
        seal = SealPart(size, str(rng.choice(["spring_side", "back"])))
        pieces, circles, outside, height, closure = _seal_pieces(seal), circles_of(seal), size[1], size[2], ""
    else:
        part = made_up_bearing(rng, polished=polished)
        pieces, circles, closure = part.pieces(), part.circles(), part.closure
        outside, height = part.shape.od_mm, part.shape.width_mm
        _mark_and_fill(scene, part, rng)
    camera, distance, reach = _camera(outside, height, frame, rng)
    scene["eye"], (scene["right"], scene["down"], scene["forward"]) = camera.position_mm, camera.rotation
    scene["focal_px"], (scene["cx"], scene["cy"]) = camera.focal_px, camera.centre_px
    scene["reach_px"], scene["focus_mm"] = reach, distance * rng.uniform(0.9, 1.12)
    scene["lens_mm"] = rng.uniform(0.2, 2.0) if rng.random() < 0.4 else 0.0
    scene["material"] = _materials(rng, closure, rubber)
    if polished:
        _polish(scene["material"], rng)
    scene["glyph_seed"] = rng.integers(1, 30000)
    _put(scene, pieces, 0.0, 0.0)
    _clutter(scene, outside, rng)
    _bench(scene, outside, rng, polished=polished)
    _light(scene, camera, rng)
    ellipses = [ellipse_of_circle(camera, *circles[name]) for name in CIRCLES]
    return scene, np.array([[e[k] for k in ("cx", "cy", "a", "b", "angle_deg")] for e in ellipses], np.float32)


def _mark_and_fill(scene: np.ndarray, part: TracedBearing, rng: np.random.Generator) -> None:
    s = part.shape
    if part.closure == "open":
        scene["balls"] = int(np.clip(round(2 * np.pi * s.pitch / (2 * s.ball) * rng.uniform(0.55, 0.8)), 6, 14))
        scene["ball_pitch"], scene["ball_z"], scene["ball_radius"] = s.pitch, s.width_mm / 2, s.ball * 0.97
        scene["ball_turn"] = rng.uniform(0, 6.28)
    if rng.random() < 0.75:
        low, high = part.outer_land + 0.04 * s.section, s.outer - part.outer.radial
        if part.closure != "open" and rng.random() < 0.25:
            low, high = s.inner + 0.5 * s.section, s.inner + 0.62 * s.section
        cap = min(0.75 * (high - low), 2.4)
        scene["glyph_low"], scene["glyph_high"] = (low + high - cap) / 2, (low + high + cap) / 2
        scene["glyph_count"], scene["glyph_start"] = rng.integers(6, 40), rng.uniform(0, 6.28)
        scene["glyph_light"] = rng.uniform(0.1, 0.7) if rng.random() < 0.7 else rng.uniform(1.1, 1.6)


def finish_of(rng: np.random.Generator) -> FinishSpec:
    """What the phone does, wider than in random_scenes."""
    return FinishSpec(
        exposure=float(rng.uniform(0.7, 1.35)),
        blur_px=float(rng.uniform(0.3, 2.6)) if rng.random() < 0.35 else 0.0,
        motion_px=float(rng.uniform(2, 5)) if rng.random() < 0.08 else 0.0,
        motion_deg=float(rng.uniform(0, 180)),
        noise=float(np.exp(rng.uniform(math.log(0.002), math.log(0.04)))),
        vignette=float(rng.uniform(0, 0.3)),
        jpeg_quality=int(rng.integers(45, 96)),
    )


def developed(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """RGB uint8 of linear light, through a phone's JPEG."""
    spec = finish_of(rng)
    ring = cv2.dilate(light, _NEIGHBOURS)  # sparks of the tracer, not of the scene
    light = np.where(light > 2.0 * ring + 0.02, ring, light)
    picture = develop(light, spec, rng)
    _, coded = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, spec.jpeg_quality])
    return np.ascontiguousarray(cv2.imdecode(coded, cv2.IMREAD_COLOR)[..., ::-1])


_NEIGHBOURS = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]], np.uint8)


def _address(array: Any) -> ctypes.c_void_p:
    if array is None or isinstance(array, np.ndarray):
        return ctypes.c_void_p(None if array is None else array.ctypes.data)
    return ctypes.c_void_p(array.data_ptr())


class Tracer:
    """path_tracer.cu, built and loaded."""

    def __init__(self, first_bench: int = 0) -> None:
        source = Path(__file__).with_name("path_tracer.cu")
        library = Path(tempfile.mkdtemp()) / "tracer.so"
        build = ["g++", "-O3", "-march=native", "-ffast-math", "-fopenmp", "-shared", "-fPIC", "-x", "c++"]
        if shutil.which("nvidia-smi") and shutil.which("nvcc"):
            build = ["nvcc", "-O3", "-use_fast_math", "-arch=native", "-Xcompiler", "-fPIC", "-shared"]
        subprocess.run([*build, "-o", str(library), str(source)], check=True)
        self._library = ctypes.CDLL(str(library))
        if self._library.scene_floats() * 4 != SCENE.itemsize:
            raise RuntimeError(f"scene layouts differ: {self._library.scene_floats() * 4} and {SCENE.itemsize} bytes")
        with multiprocessing.Pool() as pool:
            tiles = pool.map(bench_tiles, range(first_bench, first_bench + BENCH_COUNT))
        self._coarse = np.ascontiguousarray([t[0] for t in tiles], np.float32)
        self._fine = np.ascontiguousarray([t[1] for t in tiles], np.float32)

    def render(
        self, scenes: np.ndarray, out: Any, samples: int, seed: int, counts: Any = None, marks: Any = None
    ) -> None:
        """Fill ``out`` (n, side, side, 3) float32 with linear light.

        ``counts`` (n, side, side) uint8: paths for each pixel, 0 leaves it black. Both may be numpy arrays or tensors,
        on the GPU as well. ``marks`` (strips, MARK_ROWS, MARK_COLUMNS) uint8: texts, which a scene's ``mark`` numbers
        from 1.
        """
        at = [_address(a) for a in (scenes, self._coarse, self._fine, counts, out, marks)]
        fault = self._library.render(
            at[0], len(scenes), at[1], at[2], BENCH_COUNT, out.shape[1], samples, at[3], ctypes.c_uint32(seed), at[4],
            at[5], 0 if marks is None else len(marks),
        )  # fmt: skip
        if fault:
            raise RuntimeError(f"CUDA error {fault}")


def _scene_of(seed: int, number: int, polished: bool) -> tuple[np.ndarray, np.ndarray]:
    cv2.setNumThreads(1)
    return made_up_scene(np.random.default_rng([seed, number]), polished=polished)


_SHARED: list[np.ndarray] = []


def _developed(slot: int, place: int, seed: int, number: int) -> np.ndarray:
    return developed(_SHARED[slot][place], np.random.default_rng([seed, number, 1]))


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=21)
    ask.add_argument("--count", type=int, default=12000)
    ask.add_argument("--seconds", type=float, default=1e9, help="stop after this time")
    ask.add_argument("--workers", type=int, default=15)
    ask.add_argument("--samples", type=int, default=20)
    ask.add_argument("--batch", type=int, default=240)
    ask.add_argument("--polished", action="store_true", help="rounded, polished chamfers on patterned benches")
    ask.add_argument("--first-bench", type=int, default=0)
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    tracer, began = Tracer(given.first_bench), time.time()
    size = given.batch * SIDE_PX * SIDE_PX * 3
    _SHARED.extend(
        np.frombuffer(multiprocessing.RawArray("f", size), np.float32).reshape(given.batch, SIDE_PX, SIDE_PX, 3)
        for _ in range(2)
    )
    waiting = None
    with multiprocessing.get_context("fork").Pool(given.workers) as pool:
        for first in range(0, given.count, given.batch):
            slot, numbers = first // given.batch % 2, range(first, min(first + given.batch, given.count))
            made = pool.starmap(_scene_of, [(given.seed, n, given.polished) for n in numbers], chunksize=8)
            tracer.render(np.array([m[0] for m in made]), _SHARED[slot], given.samples, given.seed * 1000003 + first)
            _written(waiting, given.out)
            jobs = [(slot, place, given.seed, n) for place, n in enumerate(numbers)]
            waiting = (first, np.array([m[1] for m in made]), pool.starmap_async(_developed, jobs, chunksize=4))
            print(f"{numbers[-1] + 1} after {time.time() - began:.0f} s", flush=True)
            if time.time() - began > given.seconds:
                break
        _written(waiting, given.out)


def _written(waiting: tuple | None, out: Path) -> None:
    if waiting is not None:
        first, circles, pictures = waiting
        part = out / f"t{first:06d}.part"
        with part.open("wb") as file:
            np.savez(file, pictures=np.array(pictures.get()), circles=circles)
        part.rename(part.with_suffix(".npz"))


if __name__ == "__main__":
    main()
