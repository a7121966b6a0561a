"""From a part's description to the things that rays meet."""

from __future__ import annotations

import numpy as np

from drawing.balls import BallRow
from drawing.blocks import carton, hexagon_nut
from drawing.machining import make_dust, make_turning
from drawing.marking import Strip, make_strip
from drawing.profiles import (
    BearingShape,
    Piece,
    SealShape,
    inner_ring,
    open_interior,
    outer_ring,
    pen,
    rubber_closure,
    seal_back,
    seal_spring_side,
    shield,
    washer,
)
from drawing.revolve import Decorate, Material, Turned
from drawing.scene_spec import BearingPart, CartonPart, SealPart
from drawing.sizes import BEARINGS
from drawing.spring import GarterSpring
from drawing.surface import Array, Surface, Thing

ORIGIN = np.zeros(3, np.float32)
CAGES = {
    "steel": ((0.55, 0.54, 0.52), 1.0),
    "brass": ((0.75, 0.5, 0.2), 1.0),
    "polyamide": ((0.35, 0.31, 0.22), 0.0),
    "black": ((0.02, 0.02, 0.022), 0.0),
}
GAP = Material((0.01, 0.01, 0.01), 0.0, 0.05)


def shape_of(part: BearingPart) -> BearingShape:
    """Dimensions of a bearing."""
    return BearingShape(*BEARINGS[part.base])


def steels(part: BearingPart, rng: np.random.Generator) -> dict[str, Material]:
    """Materials of a bearing; polish narrows the spread of the ground faces."""
    wide = 0.34 - 0.24 * part.polish
    tone = np.array((0.60, 0.59, 0.57)) * rng.uniform(0.9, 1.12)
    rgb = tuple(float(v) for v in tone)
    dim = tuple(float(v) for v in tone * 0.8)
    return {
        "od_wall": Material(rgb, 1.0, 0.3, wide * 0.5),
        "ring": Material(rgb, 1.0, 0.3, wide),
        "inner_ring": Material(rgb, 1.0, 0.3, wide),
        "ring_wall": Material(dim, 1.0, 0.3, 0.1),
        "ring_dark": Material(dim, 1.0, 0.3, 0.1),
        "recess": Material(dim, 1.0, 0.3, 0.1),
        "bore_wall": Material(rgb, 1.0, 0.3, wide * 0.5),
        "groove": Material(dim, 1.0, 0.3, 0.05),
        "gap": GAP,
        "shield": Material(tuple(float(v) for v in tone * rng.uniform(0.95, 1.1)), 1.0, 0.3, 0.16),
        "rubber": Material(part.closure_rgb, 0.0, 0.55, 0.0),
    }


def bearing_things(part: BearingPart, px_per_mm: float, rng: np.random.Generator) -> tuple[list[Thing], float]:
    """Give the bearing's things and the height of its letters in millimetres (0 when unmarked)."""
    shape, closed = shape_of(part), part.closure != "open"
    inside = {"open": open_interior, "shield": shield, "rubber_seal": rubber_closure}[part.closure](shape)
    pieces: list[Piece] = (
        outer_ring(shape, closed=closed, groove_mm=part.groove_mm).pieces + inside.pieces + inner_ring(shape).pieces
    )
    strip, cap = _ring_strip(part, shape, px_per_mm, rng)
    body = Turned(pieces, steels(part, rng), ORIGIN, solid=(shape.outer, shape.inner, shape.width_mm))
    body.decorate = _bearing_decoration(part, strip, px_per_mm, rng)
    things: list[Thing] = [body]
    if not closed:
        count = int(np.clip(round(2 * np.pi * shape.pitch / (2 * shape.ball) * 0.68), 7, 13))
        rgb, metal = CAGES[part.cage]
        things.append(BallRow(shape, count, float(rng.uniform(0, 6.28)), rgb, metal))
    return things, cap


def ball_count(things: list[Thing]) -> int | None:
    """Count of the balls that can be seen, if any can."""
    return next((thing.count for thing in things if isinstance(thing, BallRow)), None)


def _bearing_decoration(
    part: BearingPart, strip: Strip | None, px_per_mm: float, rng: np.random.Generator
) -> dict[str, Decorate]:
    face = make_turning(px_per_mm, rng, depth=0.022, haze=0.05)
    plate = make_turning(px_per_mm, rng, depth=0.010, haze=0.06)
    paints: dict[str, list[Decorate]] = {
        "ring": [face.lay_into],
        "inner_ring": [face.lay_into],
        "od_wall": [plate.lay_into],
        "bore_wall": [plate.lay_into],
        "shield": [plate.lay_into],
        "rubber": [make_dust(rng).lay_into],
    }
    if strip is not None and part.marking is not None:
        closure = "shield" if part.closure == "shield" else "rubber"
        paints["ring" if part.marking.place == "ring" else closure].append(strip.lay_into)
    return {name: _in_turn(steps) for name, steps in paints.items()}


def _in_turn(steps: list[Decorate]) -> Decorate:
    def paint(seen: Surface, rows: Array, rho: Array, angle: Array) -> None:
        for step in steps:
            step(seen, rows, rho, angle)

    return paint


def _ring_strip(
    part: BearingPart, shape: BearingShape, px_per_mm: float, rng: np.random.Generator
) -> tuple[Strip | None, float]:
    """Lay the words out on the ring's face, or on the flat of the closure."""
    if part.marking is None:
        return None, 0.0
    closed = part.closure != "open"
    land = shape.outer_shoulder(closed=closed)
    low, high = land + 0.03 * shape.section, shape.outer - shape.chamfer_mm
    if part.marking.place == "closure":
        low = shape.inner_shoulder + 0.32 * (land - shape.inner_shoulder)
        high = shape.inner_shoulder + 0.74 * (land - shape.inner_shoulder)
    cap = min(0.72 * (high - low), 2.4) * float(rng.uniform(0.88, 1.0))
    return make_strip(part.marking, (low + high) / 2, cap, px_per_mm, rng), cap


def seal_things(part: SealPart, px_per_mm: float, rng: np.random.Generator) -> tuple[list[Thing], float]:
    """Give the seal's things and the height of its moulded letters."""
    shape = SealShape(*part.size)
    spring = part.lip_face == "spring_side"
    pieces = (seal_spring_side if spring else seal_back)(shape).pieces
    matt = Material(part.rgb, 0.0, 0.5)
    dim = Material(tuple(float(v * 0.8) for v in part.rgb), 0.0, 0.3)
    materials = {"seal_wall": matt, "seal_face": matt, "seal_lip": Material(part.rgb, 0.0, 0.75), "seal_trough": dim}
    body = Turned(pieces, materials, ORIGIN, solid=(shape.outer, shape.lip, shape.width_mm))
    paints: list[Decorate] = [make_dust(rng).lay_into]
    cap = 0.0
    if part.marking is not None and not spring:
        low, high = shape.mouth + 0.8, shape.outer - shape.chamfer_mm
        cap = min(0.42 * (high - low), 3.0)
        paints.append(make_strip(part.marking, (low + high) / 2, cap, px_per_mm, rng).lay_into)
    body.decorate = {"seal_face": _in_turn(paints), "seal_lip": make_dust(rng).lay_into}
    things: list[Thing] = [body]
    if spring:
        things.append(GarterSpring(shape, float(rng.uniform(2.2, 3.2))))
    return things, cap


def carton_things(part: CartonPart, turn: float) -> list[Thing]:
    """Give a box standing with its middle at the origin."""
    return [carton(ORIGIN, part.size_mm, turn, part.picture, part.rgb)]  # type: ignore[arg-type]


def clutter_thing(kind: str, x: float, y: float, rng: np.random.Generator) -> Thing:
    """Give one thing that lies about."""
    place = np.array([x, y, 0], np.float32)
    turn = float(rng.uniform(0, 2 * np.pi))
    if kind == "nut":
        return hexagon_nut(place, float(rng.uniform(7, 13)), float(rng.uniform(3.5, 7)), turn)
    if kind == "pen":
        return _lying_pen(place, turn, rng)
    outer = float(rng.uniform(5, 9))
    inner = 0.0 if kind == "disc" else outer * float(rng.uniform(0.42, 0.58))
    thick = float(rng.uniform(1.0, 2.0))
    tone = float(rng.uniform(0.45, 0.6))
    steel = Material((tone, tone * 0.99, tone * 0.96), 1.0, 0.3, 0.2)
    return Turned(washer(outer, inner, thick).pieces, {"clutter": steel}, place, solid=(outer, max(inner, 0.01), thick))


def _lying_pen(place: Array, turn: float, rng: np.random.Generator) -> Thing:
    radius = float(rng.uniform(3.2, 4.6))
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    axes = np.stack([np.array([-np.sin(turn), np.cos(turn), 0.0]), np.array([0, 0, 1.0]), along]).astype(np.float32)
    rgb = [(0.02, 0.03, 0.12), (0.25, 0.02, 0.02), (0.02, 0.02, 0.02), (0.6, 0.45, 0.05), (0.1, 0.3, 0.12)][
        rng.integers(5)
    ]
    base = place + np.array([0, 0, radius], np.float32) - along.astype(np.float32) * 65
    return Turned(pen(130.0, radius).pieces, {"clutter": Material(rgb, 0.0, 0.9)}, base.astype(np.float32), axes)
