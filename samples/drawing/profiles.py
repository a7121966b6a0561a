"""Half sections of the parts: what is turned about the z axis to give a ring, a closure, a seal, a washer, a pen.

A profile runs from the outside bottom up, over the top, inward and down the bore, so that the normal of a piece
from (r0, z0) to (r1, z1) is (z1 - z0, r0 - r1): it points out of the material.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Piece:
    """One straight piece of a half section, with the normals at its ends and how much open sky its ends see."""

    start: Point
    end: Point
    material: str
    normal_start: Point
    normal_end: Point
    open_start: float = 1.0
    open_end: float = 1.0


@dataclass(slots=True)
class Profile:
    """Pieces in order; built with `to` and `round_to`."""

    at: Point
    material: str
    openness: float = 1.0
    pieces: list[Piece] = field(default_factory=list)

    def to(self, r: float, z: float, *, openness: float | None = None, material: str | None = None) -> Profile:
        """Add a straight piece; ``openness`` is that of its end, ``material`` holds from this piece on."""
        self.material = material or self.material
        ending = self.openness if openness is None else openness
        normal = _unit(z - self.at[1], self.at[0] - r)
        self.pieces.append(Piece(self.at, (r, z), self.material, normal, normal, self.openness, ending))
        self.at, self.openness = (r, z), ending
        return self

    def jump(self, r: float, z: float, *, openness: float | None = None, material: str | None = None) -> Profile:
        """Go on from another point without a surface between."""
        self.at, self.material = (r, z), material or self.material
        self.openness = self.openness if openness is None else openness
        return self

    def round_to(self, r: float, z: float, *, rising_first: bool, steps: int = 3) -> Profile:
        """Add a quarter of an ellipse; ``rising_first``: the axial direction comes first (an outer edge)."""
        r0, z0 = self.at
        for step in range(1, steps + 1):
            turn = math.pi / 2 * step / steps
            away, along = (1 - math.cos(turn)), math.sin(turn)
            share_r, share_z = (away, along) if rising_first else (along, away)
            point = (r0 + (r - r0) * share_r, z0 + (z - z0) * share_z)
            normals = (
                _edge_normal((r0, z0), (r, z), turn - math.pi / 2 / steps, rising_first),
                _edge_normal((r0, z0), (r, z), turn, rising_first),
            )
            self.pieces.append(Piece(self.at, point, self.material, *normals, self.openness, self.openness))
            self.at = point
        return self


def _unit(r: float, z: float) -> Point:
    length = math.hypot(r, z) or 1.0
    return r / length, z / length


def _edge_normal(start: Point, end: Point, turn: float, rising_first: bool) -> Point:
    """Give the normal of a quarter ellipse from start to end after ``turn`` of its quarter."""
    step_r, step_z = end[0] - start[0], end[1] - start[1]
    if rising_first:
        slope = (step_r * math.sin(turn), step_z * math.cos(turn))
    else:
        slope = (step_r * math.cos(turn), step_z * math.sin(turn))
    return _unit(slope[1], -slope[0])


@dataclass(frozen=True, slots=True)
class BearingShape:
    """The radii and heights of a deep groove ball bearing that a photo shows, from its boundary dimensions."""

    bore_mm: float
    od_mm: float
    width_mm: float
    chamfer_mm: float

    @property
    def section(self) -> float:
        """Radial height between bore and outside."""
        return (self.od_mm - self.bore_mm) / 2

    @property
    def outer(self) -> float:
        """Outside radius."""
        return self.od_mm / 2

    @property
    def inner(self) -> float:
        """Bore radius."""
        return self.bore_mm / 2

    @property
    def pitch(self) -> float:
        """Radius of the circle of the balls' centres."""
        return (self.outer + self.inner) / 2

    @property
    def ball(self) -> float:
        """Ball radius: balls of common designs fill 0.6 of the section."""
        return 0.3 * self.section

    @property
    def inner_shoulder(self) -> float:
        """Outside radius of the inner ring's face."""
        return self.inner + 0.345 * self.section

    def outer_shoulder(self, *, closed: bool) -> float:
        """Inside radius of the outer ring's face; a closure sits in a recess cut into it."""
        return self.inner + (0.75 if closed else 0.69) * self.section


def outer_ring(shape: BearingShape, *, closed: bool, groove_mm: tuple[float, float, float] | None = None) -> Profile:
    """Outside wall, chamfer, face and inner wall of the outer ring; ``groove_mm``: land, width, depth."""
    c, top, edge = shape.chamfer_mm, shape.width_mm, 0.025 * shape.section
    land = shape.outer_shoulder(closed=closed)
    ring = Profile((shape.outer, c), "od_wall", openness=0.45)
    ring.pieces.clear()
    if groove_mm is not None:
        _cut_groove(ring, shape, groove_mm)
    ring.to(shape.outer, top - c, openness=0.9)
    ring.openness, ring.material = 1.0, "ring"
    ring.round_to(shape.outer - c, top, rising_first=True)
    ring.to(land + edge, top)
    ring.to(land, top - edge, openness=0.7)
    return ring


def _cut_groove(ring: Profile, shape: BearingShape, groove_mm: tuple[float, float, float]) -> None:
    """The wall up to a groove, and the groove: little light reaches its corners."""
    land, wide, deep = groove_mm
    high = shape.width_mm - land
    ring.to(shape.outer, high - wide, openness=0.8)
    ring.openness = 0.35
    ring.to(shape.outer - deep, high - wide, openness=0.05, material="ring_dark")
    ring.to(shape.outer - deep, high)
    ring.to(shape.outer, high)
    ring.openness, ring.material = 0.85, "od_wall"


def inner_ring(shape: BearingShape) -> Profile:
    """Shoulder wall, face, chamfer and bore of the inner ring."""
    c, top, edge = shape.chamfer_mm, shape.width_mm, 0.02 * shape.section
    ring = Profile((shape.inner_shoulder, top * 0.55), "ring_dark", openness=0.15)
    ring.to(shape.inner_shoulder, top - edge, openness=0.7)
    ring.to(shape.inner_shoulder - edge, top, openness=1.0, material="inner_ring")
    ring.to(shape.inner + c, top)
    ring.round_to(shape.inner, top - c, rising_first=False)
    ring.openness = 0.75
    ring.to(shape.inner, 0.0, openness=0.28, material="bore_wall")
    return ring


def shield(shape: BearingShape) -> Profile:
    """A pressed steel shield: curled rim in the recess, a step, a flat ring, a turned-down inner edge."""
    h, top = shape.section, shape.width_mm
    rim, gap = shape.outer_shoulder(closed=True), shape.inner_shoulder + 0.022 * shape.section
    at = lambda share: gap + (rim - gap) * share  # noqa: E731  (a local ruler)
    plate = Profile((rim, top - 0.025 * h), "recess", openness=0.5)
    plate.to(rim, top - 0.12 * h, openness=0.35)
    plate.to(at(0.975), top - 0.115 * h, openness=0.45, material="shield")
    plate.round_to(at(0.90), top - 0.055 * h, rising_first=True, steps=2)
    plate.openness = 0.85
    plate.to(at(0.86), top - 0.05 * h, openness=0.95)
    plate.round_to(at(0.74), top - 0.105 * h, rising_first=False, steps=3)
    plate.to(at(0.12), top - 0.10 * h, openness=0.9)
    plate.round_to(at(0.0), top - 0.17 * h, rising_first=False, steps=3)
    plate.to(at(0.0), top - 0.4 * h, openness=0.1)
    plate.to(shape.inner_shoulder, top - 0.4 * h, openness=0.02, material="gap")
    return plate


def rubber_closure(shape: BearingShape) -> Profile:
    """A rubber seal: beaded rim in the recess, a flat disc with shallow rings, a thin lip on the inner ring."""
    h, top = shape.section, shape.width_mm
    rim, lip = shape.outer_shoulder(closed=True), shape.inner_shoulder + 0.008 * shape.section
    at = lambda share: lip + (rim - lip) * share  # noqa: E731  (a local ruler)
    disc = Profile((rim, top - 0.025 * h), "recess", openness=0.5)
    disc.to(rim, top - 0.10 * h, openness=0.3)
    disc.to(at(0.97), top - 0.10 * h, openness=0.5, material="rubber")
    disc.round_to(at(0.90), top - 0.05 * h, rising_first=True, steps=3)
    disc.openness = 0.95
    disc.to(at(0.80), top - 0.05 * h)
    disc.to(at(0.77), top - 0.085 * h, openness=0.7)
    disc.to(at(0.30), top - 0.085 * h, openness=0.85)
    disc.to(at(0.27), top - 0.06 * h, openness=0.9)
    disc.to(at(0.12), top - 0.07 * h)
    disc.round_to(at(0.0), top - 0.15 * h, rising_first=False, steps=3)
    disc.to(shape.inner_shoulder, top - 0.18 * h, openness=0.1)
    return disc


def open_interior(shape: BearingShape) -> Profile:
    """What is seen between the rings of an open bearing below the balls: grooves in both rings and darkness."""
    top, land, depth = shape.width_mm, shape.outer_shoulder(closed=False), 0.28 * shape.ball
    mid, half = top / 2, 0.62 * shape.ball
    inside = Profile((land, top - 0.025 * shape.section), "ring_wall", openness=0.65)
    inside.to(land, mid + half, openness=0.35)
    inside.to(land + depth, mid, openness=0.2, material="groove")
    inside.to(land, mid - half, openness=0.05)
    inside.to(land, 0.12 * top, openness=0.03, material="gap")
    inside.to(shape.inner_shoulder, 0.12 * top, openness=0.03)
    inside.to(shape.inner_shoulder, mid - half, openness=0.05, material="groove")
    inside.to(shape.inner_shoulder - depth, mid, openness=0.12)
    inside.to(shape.inner_shoulder, mid + half * 0.95, openness=0.3)
    return inside


@dataclass(frozen=True, slots=True)
class SealShape:
    """A rotary shaft seal: nominal shaft, housing and width. Free diameters differ from nominal by design."""

    shaft_mm: float
    housing_mm: float
    width_mm: float

    @property
    def outer(self) -> float:
        """Free outside radius: an interference of 0.25 mm on the diameter is usual for these sizes."""
        return self.housing_mm / 2 + 0.125

    @property
    def lip(self) -> float:
        """Free radius of the lip, smaller than the shaft so that it grips."""
        return self.shaft_mm / 2 - 0.35

    @property
    def mouth(self) -> float:
        """Radius of the opening on the back: the shaft must pass without touching."""
        return self.shaft_mm / 2 + 0.55

    chamfer_mm = 0.5
    mouth_edge_mm = 0.35
    lip_height_share = 0.6


def seal_spring_side(shape: SealShape) -> Profile:
    """Rim, trough, spring seat and lip: the side that faces the oil. The spring itself is a torus of its own."""
    t, top, c = shape.outer - shape.lip, shape.width_mm, shape.chamfer_mm
    at = lambda share: shape.lip + t * share  # noqa: E731  (a local ruler)
    body = Profile((shape.outer, 0.0), "seal_wall", openness=0.45)
    body.to(shape.outer, top - c, openness=0.9)
    body.round_to(shape.outer - c, top, rising_first=True)
    body.material = "seal_face"
    body.to(at(0.80), top, openness=1.0)
    body.round_to(at(0.74), top - 0.5, rising_first=False, steps=2)
    body.to(at(0.68), top - 0.48 * top, openness=0.2, material="seal_trough")
    body.to(at(0.46), top - 0.48 * top, openness=0.15)
    body.to(at(0.37), top - 0.14 * top, openness=0.75, material="seal_lip")
    body.round_to(at(0.24), top - 0.08 * top, rising_first=True, steps=2)
    body.to(at(0.16), top - 0.1 * top, openness=0.85)
    body.to(at(0.0), top * shape.lip_height_share, openness=0.55)
    body.to(at(0.12), 0.0, openness=0.25, material="seal_trough")
    return body


def seal_back(shape: SealShape) -> Profile:
    """The flat side, with the maker's moulded text, and the mouth that narrows to the lip."""
    top, c = shape.width_mm, shape.chamfer_mm
    body = Profile((shape.outer, 0.0), "seal_wall", openness=0.45)
    body.to(shape.outer, top - c, openness=0.9)
    body.round_to(shape.outer - c, top, rising_first=True)
    body.material = "seal_face"
    body.to(shape.mouth + shape.mouth_edge_mm, top, openness=1.0)
    body.round_to(shape.mouth, top - shape.mouth_edge_mm, rising_first=False)
    body.to(shape.lip + 0.3, top * 0.66, openness=0.5, material="seal_lip")
    body.to(shape.lip, top * shape.lip_height_share, openness=0.5)
    body.to(shape.lip + 0.5, 0.0, openness=0.2, material="seal_trough")
    return body


def washer(outer: float, inner: float, thick: float) -> Profile:
    """A plain washer lying flat; with ``inner`` zero a disc."""
    edge = 0.15 * thick
    flat = Profile((outer, 0.0), "clutter", openness=0.5)
    flat.to(outer, thick - edge, openness=0.9)
    flat.round_to(outer - edge, thick, rising_first=True, steps=2)
    flat.openness = 1.0
    flat.to(max(inner, 0.0), thick)
    if inner:
        flat.to(inner, 0.0, openness=0.4)
    return flat


def pen(length: float, radius: float) -> Profile:
    """A pen along its own axis from z = 0 to ``length``: barrel, shoulder and tip."""
    barrel = Profile((radius, 0.0), "clutter", openness=1.0)
    barrel.to(radius, length * 0.84)
    barrel.to(radius * 0.45, length * 0.95)
    barrel.to(radius * 0.12, length)
    barrel.to(0.0, length)
    return barrel
