"""The rings of one nest: every circle that is seen around the common centre, each fitted as its own ellipse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.conics import fit_ellipse, phase_of, points_on, signed_distance
from screener.vision.rings.edges import Arc, EdgeMap, EdgePoints
from screener.vision.rings.frames import Frame, frame_of_rings

Floats = NDArray[np.float64]

SECTORS = 72
_ROUND = np.linspace(0, 2 * np.pi, 24, endpoint=False)
ALIGNED = 0.96
"""Cosine of 16 degrees: noise of half the edge's own contrast turns its gradient by less."""


@dataclass(frozen=True, slots=True)
class Ring:
    """One closed edge of the nest."""

    ellipse: Ellipse
    radius_px: float
    """Mean radius in the frame of the nest."""
    outward: int
    """+1: brighter outside; -1: darker outside."""
    coverage: float
    """Part of the way round on which the edge is seen, 0 to 1."""
    scatter_px: float
    contrast: float
    """Median gradient, grey levels per pixel."""
    seen: NDArray[np.bool_]
    """(72,) sectors in which the edge is seen."""


def nest_of(edges: EdgeMap, frame: Frame, rounds: int = 1) -> tuple[list[Ring], Frame]:
    """Rings of a nest and the frame that fits them best.

    The arcs give a first frame; whole rings tie down tilt and perspective far better, and a better frame gathers more
    of each ring, so the two are repeated.
    """
    rings = rings_of(edges, frame)
    for _ in range(rounds):
        frame = frame_of_rings(frame, [_outline(ring) for ring in rings if ring.coverage > 0.55])
        rings = rings_of(edges, frame)
    return rings, frame


def _outline(ring: Ring) -> tuple[Floats, Floats, float]:
    phase = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    xy, normal = points_on(ring.ellipse, phase)
    return xy, normal, ring.coverage**2


def rings_of(edges: EdgeMap, frame: Frame, most: int = 16, least_coverage: float = 0.3) -> list[Ring]:
    """All rings of a nest from the outside in.

    Parameters
    ----------
    edges : edge points and arcs of the picture that the frame is in
    frame : the nest
    """
    points = edges.points
    radius = frame.radius(points.xy)
    cosine = frame.agreement(points.xy, points.gradient)
    near = (radius < 1.35 * frame.reach_px) & (radius > 6) & (np.abs(cosine) > ALIGNED)
    rings: list[Ring] = []
    for outward in (1, -1):
        use = np.nonzero(near & (np.sign(cosine) == outward))[0]
        gatherer = _Gatherer(points, frame, outward, use, radius[use], np.ones(len(use), dtype=bool))
        found = _from_arcs(gatherer, edges.arcs)
        rings += found + _from_radii(gatherer, most - len(found), least_coverage)
    rings += _of_mixed_polarity(points, frame, np.nonzero(near)[0], radius, cosine, rings)
    return sorted(rings, key=lambda ring: -ring.radius_px)


@dataclass(frozen=True, slots=True)
class _Gatherer:
    """Edge points of one polarity around a centre, and which of them are not in a ring yet."""

    points: EdgePoints
    frame: Frame
    outward: int
    use: NDArray[np.intp]
    radius: Floats
    free: NDArray[np.bool_]


def _of_mixed_polarity(
    points: EdgePoints, frame: Frame, near: NDArray[np.intp], radius: Floats, cosine: Floats, rings: list[Ring]
) -> list[Ring]:
    """Rings that are brighter outside on one part of the way and darker on another.

    An edge against a grained or shadowed bench is like that, and so is a coloured one, where the channel that shows it
    best changes.
    """
    free = np.ones(len(near), dtype=bool)
    for ring in rings:
        if ring.coverage > 0.7:
            free &= np.abs(signed_distance(ring.ellipse, points.xy[near])) > 2.5
    left = near[free]
    outward = 1 if float(np.sum(cosine[left])) >= 0 else -1
    gatherer = _Gatherer(points, frame, outward, left, radius[left], np.ones(len(left), dtype=bool))
    found = _from_radii(gatherer, 3, 0.7)
    firm = [ring.radius_px for ring in rings if ring.coverage > 0.55]
    return [new for new in found if all(abs(new.radius_px / radius_px - 1) > 0.06 for radius_px in firm)]


def _from_arcs(gatherer: _Gatherer, arcs: tuple[Arc, ...], least_turn_rad: float = 1.3) -> list[Ring]:
    """Rings that a single long arc gives: its own ellipse does not depend on the frame."""
    frame = gatherer.frame
    rings: list[Ring] = []
    for arc in sorted(arcs, key=lambda a: -len(a.xy)):
        if arc.turning_rad < least_turn_rad or len(arc.xy) < 0.2 * frame.reach_px:
            continue
        if float(np.median(frame.agreement(arc.xy, arc.gradient))) * gatherer.outward < ALIGNED:
            continue
        if any(np.median(np.abs(signed_distance(ring.ellipse, arc.xy))) < 2.0 for ring in rings):
            continue
        start = fit_ellipse(arc.xy[:: max(len(arc.xy) // 200, 1)], rounds=2)
        peak = float(np.median(frame.radius(arc.xy)))
        own = frame.ring(peak)
        if start is None or own is None or not _plausible(start, own):
            continue
        ring, members = _fitted(gatherer, start, own, (2.5, 2.0, 1.6))
        if ring is not None and ring.coverage > 0.75:
            rings.append(ring)
            gatherer.free[members] = False
    return rings


def _from_radii(gatherer: _Gatherer, most: int, least: float) -> list[Ring]:
    """Rings made of many short arcs: radii at which the points cover most of a turn."""
    rings: list[Ring] = []
    tried: list[float] = []
    for _ in range(2 * most):
        peak = _strongest_radius(gatherer.radius[gatherer.free], tried)
        own = gatherer.frame.ring(peak) if peak is not None else None
        if peak is None or own is None:
            break
        ring, members = _fitted(gatherer, own, own, (0.02 * peak + 2.0, 0.012 * peak + 1.5, 2.2, 1.6))
        if ring is None or ring.coverage < least:
            tried.append(peak)
        else:
            rings.append(ring)
            gatherer.free[members] = False
        if len(rings) >= most:
            break
    return rings


def _strongest_radius(radius: Floats, tried: list[float]) -> float | None:
    """Radius where the points cover most of a turn."""
    if len(radius) < 12:
        return None
    step = 0.5
    # As many bins as the kernel at least: numpy.convolve gives "same" the length of the longer of the two.
    count = np.bincount((radius / step).astype(int), minlength=17).astype(np.float64)
    at = (np.arange(len(count)) + 0.5) * step
    kernel = np.exp(-0.5 * (np.arange(-8, 9) * step / 1.2) ** 2)
    cover = np.convolve(count, kernel, "same") / (2 * np.pi * at)
    for done in tried:
        cover[np.abs(at - done) < 2.0] = 0.0
    best = int(np.argmax(cover))
    return float(at[best]) if cover[best] > 0.2 else None


def _fitted(
    gatherer: _Gatherer, ellipse: Ellipse, prior: Ellipse, gates_px: tuple[float, ...]
) -> tuple[Ring | None, NDArray[np.bool_]]:
    """Fit a ring with a shrinking gate."""
    xy = gatherer.points.xy[gatherer.use]
    widest = 2.0 * gates_px[0] + 0.03 * prior.a
    peak = float(gatherer.frame.radius(points_on(ellipse, _ROUND)[0]).mean())
    pool = np.nonzero(gatherer.free & (np.abs(gatherer.radius - peak) < 1.5 * widest + 0.05 * peak))[0]
    pool = pool[np.abs(signed_distance(ellipse, xy[pool])) < widest]
    members = np.zeros(len(xy), dtype=bool)
    near = xy[pool]
    for gate in gates_px:
        distance = signed_distance(ellipse, near)
        inside = np.abs(distance) < gate
        if np.count_nonzero(inside) < 12:
            return None, members
        weights = 1.0 / (1.0 + (distance[inside] / (0.5 * gate)) ** 2)
        again = _with_prior(near[inside], weights, ellipse, prior)
        if again is None or not _plausible(again, ellipse):
            return None, members
        ellipse = again
    members[pool[np.abs(signed_distance(ellipse, near)) < 2.0]] = True
    if np.count_nonzero(members) < 12:
        return None, members
    return _described(gatherer, members, ellipse), members


def _with_prior(xy: Floats, weights: Floats, ellipse: Ellipse, prior: Ellipse) -> Ellipse | None:
    """Fit to the points and, weakly, to the frame's own ring, so that a half ring cannot run away."""
    ghosts, _ = points_on(prior, np.linspace(0, 2 * np.pi, 24, endpoint=False))
    ghost_weight = np.full(24, 0.01 * weights.sum() / 24)
    return fit_ellipse(np.vstack([xy, ghosts]), np.concatenate([weights, ghost_weight]), start=ellipse, rounds=1)


def _plausible(new: Ellipse, old: Ellipse) -> bool:
    moved = np.hypot(new.cx - old.cx, new.cy - old.cy)
    return bool(moved < 0.1 * old.a + 3 and abs(new.a - old.a) < 0.1 * old.a + 3 and new.b > 0.45 * new.a)


def _described(gatherer: _Gatherer, members: NDArray[np.bool_], ellipse: Ellipse) -> Ring:
    picked = gatherer.use[members]
    xy = gatherer.points.xy[picked]
    sector = ((phase_of(ellipse, xy) + np.pi) / (2 * np.pi) * SECTORS).astype(int) % SECTORS
    seen = np.zeros(SECTORS, dtype=bool)
    seen[sector] = True
    around, _ = points_on(ellipse, np.linspace(0, 2 * np.pi, 36, endpoint=False))
    return Ring(
        ellipse=ellipse,
        radius_px=float(gatherer.frame.radius(around).mean()),
        outward=gatherer.outward,
        coverage=float(seen.mean()),
        scatter_px=float(np.sqrt(np.mean(signed_distance(ellipse, xy) ** 2))),
        contrast=float(np.median(gatherer.points.strength[picked])),
        seen=seen,
    )
