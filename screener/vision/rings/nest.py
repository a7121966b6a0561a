"""The rings of one nest: every circle that is seen around the common centre, each fitted as its own ellipse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.conics import fit_ellipse, phase_of, points_on, signed_distance
from screener.vision.rings.edges import EdgePoints
from screener.vision.rings.frames import Frame, frame_of_rings

Floats = NDArray[np.float64]

SECTORS = 72
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


def nest_of(points: EdgePoints, frame: Frame, rounds: int = 2) -> tuple[list[Ring], Frame]:
    """Rings of a nest and the frame that fits them best.

    The arcs give a first frame; whole rings tie down tilt and perspective far better, and a better frame gathers more of
    each ring, so the two are repeated.
    """
    rings = rings_of(points, frame)
    for _ in range(rounds):
        frame = frame_of_rings(frame, [_outline(ring) for ring in rings if ring.coverage > 0.6])
        rings = rings_of(points, frame)
    return rings, frame


def _outline(ring: Ring) -> tuple[Floats, Floats, float]:
    phase = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    xy, normal = points_on(ring.ellipse, phase)
    return xy, normal, ring.coverage**2


def rings_of(points: EdgePoints, frame: Frame, most: int = 16, least_coverage: float = 0.3) -> list[Ring]:
    """All rings of a nest from the outside in.

    Parameters
    ----------
    points : edge points of the picture that the frame is in
    frame : the nest
    """
    radius = frame.radius(points.xy)
    cosine = frame.agreement(points.xy, points.gradient)
    near = (radius < 1.35 * frame.reach_px) & (radius > 6) & (np.abs(cosine) > ALIGNED)
    rings: list[Ring] = []
    for outward in (1, -1):
        use = np.nonzero(near & (np.sign(cosine) == outward))[0]
        rings += _one_polarity(points, use, radius[use], frame, outward, most, least_coverage)
    return sorted(rings, key=lambda ring: -ring.radius_px)


def _one_polarity(
    points: EdgePoints, use: NDArray[np.intp], radius: Floats, frame: Frame, outward: int, most: int, least: float
) -> list[Ring]:
    rings: list[Ring] = []
    free = np.ones(len(use), dtype=bool)
    tried: list[float] = []
    for _ in range(2 * most):
        peak = _strongest_radius(radius[free], tried)
        if peak is None:
            break
        ring, members = _fitted(points, use, radius, free, frame, peak, outward)
        if ring is None or ring.coverage < least:
            tried.append(peak)
        else:
            rings.append(ring)
            free &= ~members
        if len(rings) == most:
            break
    return rings


def _strongest_radius(radius: Floats, tried: list[float]) -> float | None:
    """Radius where the points cover most of a turn."""
    if len(radius) < 12:
        return None
    step = 0.5
    count = np.bincount((radius / step).astype(int), minlength=8).astype(np.float64)
    at = (np.arange(len(count)) + 0.5) * step
    kernel = np.exp(-0.5 * (np.arange(-8, 9) * step / 1.2) ** 2)
    cover = np.convolve(count, kernel, "same") / (2 * np.pi * at)
    for done in tried:
        cover[np.abs(at - done) < 2.0] = 0.0
    best = int(np.argmax(cover))
    return float(at[best]) if cover[best] > 0.2 else None


def _fitted(
    points: EdgePoints, use: NDArray[np.intp], radius: Floats, free: NDArray[np.bool_], frame: Frame, peak: float, outward: int
) -> tuple[Ring | None, NDArray[np.bool_]]:
    """Fit the ring at a peak with a shrinking gate, from the frame's own ellipse."""
    ellipse = frame.ring(peak)
    xy = points.xy[use]
    members = free & (np.abs(radius - peak) < 0.04 * peak + 3.0)
    if ellipse is None:
        return None, members
    for gate in (0.02 * peak + 2.0, 0.012 * peak + 1.5, 2.2, 1.6):
        distance = signed_distance(ellipse, xy)
        members = free & (np.abs(distance) < gate)
        if np.count_nonzero(members) < 12:
            return None, members
        weights = 1.0 / (1.0 + (distance[members] / (0.5 * gate)) ** 2)
        again = _with_prior(xy[members], weights, ellipse, frame, peak)
        if again is None or not _plausible(again, ellipse):
            return None, members
        ellipse = again
    members = free & (np.abs(signed_distance(ellipse, xy)) < 2.0)
    if np.count_nonzero(members) < 12:
        return None, members
    return _described(points, use, members, ellipse, frame, outward), members


def _with_prior(xy: Floats, weights: Floats, ellipse: Ellipse, frame: Frame, peak: float) -> Ellipse | None:
    """Fit to the points and, weakly, to the frame's own ring, so that a half ring cannot run away."""
    prior = frame.ring(peak)
    if prior is None:
        return None
    ghosts, _ = points_on(prior, np.linspace(0, 2 * np.pi, 24, endpoint=False))
    ghost_weight = np.full(24, 0.01 * weights.sum() / 24)
    return fit_ellipse(np.vstack([xy, ghosts]), np.concatenate([weights, ghost_weight]), start=ellipse, rounds=2)


def _plausible(new: Ellipse, old: Ellipse) -> bool:
    moved = np.hypot(new.cx - old.cx, new.cy - old.cy)
    return bool(moved < 0.1 * old.a + 3 and abs(new.a - old.a) < 0.1 * old.a + 3 and new.b > 0.45 * new.a)


def _described(
    points: EdgePoints, use: NDArray[np.intp], members: NDArray[np.bool_], ellipse: Ellipse, frame: Frame, outward: int
) -> Ring:
    picked = use[members]
    xy = points.xy[picked]
    sector = ((phase_of(ellipse, xy) + np.pi) / (2 * np.pi) * SECTORS).astype(int) % SECTORS
    seen = np.zeros(SECTORS, dtype=bool)
    seen[sector] = True
    around, _ = points_on(ellipse, np.linspace(0, 2 * np.pi, 36, endpoint=False))
    distance = signed_distance(ellipse, xy)
    return Ring(
        ellipse=ellipse,
        radius_px=float(frame.radius(around).mean()),
        outward=outward,
        coverage=float(seen.mean()),
        scatter_px=float(np.sqrt(np.mean(distance**2))),
        contrast=float(np.median(points.strength[picked])),
        seen=seen,
    )
