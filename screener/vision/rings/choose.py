"""Which ring of a nest is the outer edge of the part and which is its bore.

Seen from above, a part shows whole circles only where something of it is flat or bevelled: the edge of the top face,
the OD just under the chamfer, closure grooves, the bore. The foot of its side wall, its shadow and the far end of the
bore lie at other heights: they are cut short, moved off the common centre, or soft. So a ring counts by how far round
it is seen, how well it keeps to the common centre, and how sharply it stands out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from screener.vision.model import Ellipse
from screener.vision.rings.frames import Frame
from screener.vision.rings.nest import Ring

ENOUGH = 0.55
HEIGHT_SPREAD = 0.08
"""Chamfers and recessed closures lie within a twelfth of the OD radius of the face; the foot of the wall and the far
end of the bore are three to ten times as deep."""
THICKEST_BORE = 0.93
"""d/D of the thinnest rings of the boundary plan (series 8, large sizes) is 0.87."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Outer edge and bore of one nest."""

    outer: Ring
    bore: Ring | None
    score: float


def standing(ring: Ring, frame: Frame) -> float:
    """How well a ring stands as a whole circle of the face, 0 to 1."""
    return ring.coverage * math.exp(-0.5 * displacement(ring, frame) ** 2)


def displacement(ring: Ring, frame: Frame) -> float:
    """How far a ring is off the one that the frame expects at its radius, in tolerances.

    A ring that stands a little higher or lower than the face is moved along the direction of tilt; across it nothing
    moves it, and its flatness stays.
    """
    own = frame.ring(ring.radius_px)
    if own is None:
        return 10.0
    along_major, along_tilt, rounder = _offsets(ring.ellipse, own)
    sine_of_tilt = math.sqrt(max(1 - (own.b / own.a) ** 2, 0.0))
    # What pulls a ring about is a chamfer's width, and that is the same on the bore as on the much larger OD.
    share = max(own.a / frame.reach_px, 0.3)
    tilt_tolerance = 0.02 + HEIGHT_SPREAD * sine_of_tilt
    return share * math.hypot(along_major / 0.02, along_tilt / tilt_tolerance, rounder / 0.03)


def _offsets(seen: Ellipse, own: Ellipse) -> tuple[float, float, float]:
    """Centre offset along the major axis and along the tilt over the radius, and how much rounder it is."""
    dx, dy = (seen.cx - own.cx) / own.a, (seen.cy - own.cy) / own.a
    turn = math.radians(own.angle_deg)
    along_major = dx * math.cos(turn) + dy * math.sin(turn)
    along_tilt = -dx * math.sin(turn) + dy * math.cos(turn)
    return along_major, along_tilt, seen.b / seen.a - own.b / own.a


def without_wall(ring: Ring, frame: Frame) -> Ring | None:
    """The OD circle behind an outline that runs along the top edge on the far side and along the foot on the near side.

    Such an outline has the right width but is too round and moved along the tilt; the frame knows the true shape.
    """
    own = frame.ring(ring.radius_px)
    if own is None or ring.coverage < 0.7 or own.b / own.a > 0.985:
        return None
    along_major, _, rounder = _offsets(ring.ellipse, own)
    if abs(along_major) > 0.02 or rounder < 0.02:
        return None
    ellipse = frame.ring(ring.radius_px * ring.ellipse.a / own.a)
    return None if ellipse is None else replace(ring, ellipse=ellipse, coverage=max(0.75 * ring.coverage, ENOUGH))


def choose(rings: list[Ring], frame: Frame) -> Chosen | None:
    """Pick the outer edge and the bore, or None where no ring stands."""
    graded = [(standing(ring, frame), ring) for ring in rings]
    behind = [without_wall(ring, frame) for grade, ring in graded if grade < ENOUGH]
    graded += [(standing(ring, frame), ring) for ring in behind if ring is not None]
    standing_rings = [ring for grade, ring in graded if grade >= ENOUGH]
    if not standing_rings:
        return None
    outer = _outer(standing_rings)
    bore = _bore([r for r in standing_rings if r.radius_px < THICKEST_BORE * outer.radius_px])
    grade = {id(ring): g for g, ring in graded}
    inner_grade = grade[id(bore)] if bore is not None else 0.0
    between = sum(g for g, r in graded if g >= ENOUGH and r is not outer and r is not bore)
    score = (grade[id(outer)] + inner_grade + 0.25 * min(between, 4.0)) * math.sqrt(outer.radius_px)
    return Chosen(outer, bore, score)


def _outer(rings: list[Ring]) -> Ring:
    """The outermost ring, unless it is a faint rim (a shadow) around one several times as strong and a step away."""
    ordered = sorted(rings, key=lambda r: -r.radius_px)
    for ring in ordered:
        within = [r for r in ordered if 0.8 * ring.radius_px < r.radius_px < ring.radius_px]
        strongest = max((r.contrast for r in within if r.coverage > 0.8), default=0.0)
        if ring.contrast > 0.15 * strongest or ring.coverage > 0.9:
            return ring
    return ordered[0]


def _bore(rings: list[Ring]) -> Ring | None:
    """The innermost ring, unless a much stronger one lies further out: then it is the far end of the bore.

    Within a chamfer's width of the stronger one it is the inner edge of the same chamfer, and that is the bore.
    """
    if not rings:
        return None
    ordered = sorted(rings, key=lambda r: r.radius_px)
    inner = ordered[0]
    for ring in ordered[1:]:
        apart = ring.radius_px / inner.radius_px
        if apart > 1.35:
            break
        if apart > 1.13 and ring.outward > 0 and ring.coverage > 0.8 and inner.contrast < 0.4 * ring.contrast:
            return _bore([r for r in rings if r.radius_px > inner.radius_px * 1.01])
    return inner
