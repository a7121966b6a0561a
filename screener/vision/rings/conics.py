"""Ellipses as conics: fitting, distances, and the turning of one form into another. Pure numpy.

A conic is the symmetric 3 x 3 matrix C with x' C x = 0 for homogeneous points x on it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse

Floats = NDArray[np.float64]


def ellipse_to_conic(ellipse: Ellipse) -> Floats:
    """Conic of an ellipse, (3, 3), negative inside."""
    shape = shape_matrix(ellipse)
    centre = np.array([ellipse.cx, ellipse.cy])
    conic = np.empty((3, 3))
    conic[:2, :2] = shape
    conic[:2, 2] = conic[2, :2] = -shape @ centre
    conic[2, 2] = centre @ shape @ centre - 1.0
    return conic


def shape_matrix(ellipse: Ellipse) -> Floats:
    """(2, 2) matrix M with (x - c)' M (x - c) = 1 on the ellipse."""
    turn = math.radians(ellipse.angle_deg)
    axes = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return np.asarray(axes @ np.diag([ellipse.a**-2.0, ellipse.b**-2.0]) @ axes.T)


def conic_to_ellipse(conic: Floats) -> Ellipse | None:
    """Ellipse of a conic, or None where the conic is a hyperbola, a parabola or empty."""
    shape, offset = conic[:2, :2], conic[:2, 2]
    if np.linalg.det(shape) <= 0:
        return None
    centre = -np.linalg.solve(shape, offset)
    level = -(conic[2, 2] + offset @ centre)
    if level == 0:
        return None
    return ellipse_from_shape(np.asarray(centre), np.asarray(shape / level))


def ellipse_from_shape(centre: Floats, shape: Floats) -> Ellipse | None:
    """Ellipse with centre c and (x - c)' M (x - c) = 1, or None where M is not positive definite."""
    values, vectors = np.linalg.eigh(shape)
    if not values[0] > 0:
        return None
    major = vectors[:, 0]
    angle = math.degrees(math.atan2(float(major[1]), float(major[0]))) % 180.0
    return Ellipse(float(centre[0]), float(centre[1]), float(values[0] ** -0.5), float(values[1] ** -0.5), angle)


def scaled(ellipse: Ellipse, factor: float) -> Ellipse:
    """Grow or shrink about the centre."""
    return Ellipse(ellipse.cx, ellipse.cy, ellipse.a * factor, ellipse.b * factor, ellipse.angle_deg)


def in_other_pixels(ellipse: Ellipse, factor: float) -> Ellipse:
    """The same ellipse in a picture resized by the factor; pixel centres are at whole numbers."""
    shift = 0.5 * factor - 0.5
    return Ellipse(
        ellipse.cx * factor + shift,
        ellipse.cy * factor + shift,
        ellipse.a * factor,
        ellipse.b * factor,
        ellipse.angle_deg,
    )


def points_on(ellipse: Ellipse, phase_rad: Floats) -> tuple[Floats, Floats]:
    """Points (n, 2) at the given parameter angles and the outward unit normals (n, 2) there."""
    turn = math.radians(ellipse.angle_deg)
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    unit = np.stack([np.cos(phase_rad), np.sin(phase_rad)], axis=1)
    points = (unit * [ellipse.a, ellipse.b]) @ axes + [ellipse.cx, ellipse.cy]
    normals = (unit * [ellipse.b, ellipse.a]) @ axes
    return points, normals / np.linalg.norm(normals, axis=1, keepdims=True)


def phase_of(ellipse: Ellipse, xy: Floats) -> Floats:
    """Parameter angle of each point (n, 2), rad in (-pi, pi]."""
    turn = math.radians(ellipse.angle_deg)
    rel = xy - [ellipse.cx, ellipse.cy]
    along = rel @ [math.cos(turn), math.sin(turn)]
    across = rel @ [-math.sin(turn), math.cos(turn)]
    return np.asarray(np.arctan2(across / ellipse.b, along / ellipse.a))


def signed_distance(ellipse: Ellipse, xy: Floats) -> Floats:
    """First-order distance of points (n, 2) from the ellipse in pixels, positive outside."""
    shape = shape_matrix(ellipse)
    rel = xy - [ellipse.cx, ellipse.cy]
    pulled = rel @ shape
    level = (rel * pulled).sum(axis=1)
    root = np.sqrt(np.maximum(level, 1e-12))
    steepness = np.sqrt(pulled[:, 0] ** 2 + pulled[:, 1] ** 2)
    return np.asarray((root - 1.0) * root / np.maximum(steepness, 1e-12))


def fit_ellipse(
    xy: Floats, weights: Floats | None = None, start: Ellipse | None = None, rounds: int = 4
) -> Ellipse | None:
    """Least squares of the distances from the ellipse (first-order, Gauss-Newton), n >= 5 points.

    The start is the direct least-squares ellipse (Fitzgibbon, Pilu, Fisher 1999, in the stable form of Halir and
    Flusser 1998) when none is given.
    """
    if len(xy) < 5:
        return None
    weights = np.ones(len(xy)) if weights is None else weights
    ellipse = start or direct_ellipse(xy, weights)
    for _ in range(rounds):
        if ellipse is None:
            return None
        ellipse = _gauss_newton_step(ellipse, xy, weights)
    return ellipse


def direct_ellipse(xy: Floats, weights: Floats) -> Ellipse | None:
    """Algebraic least squares under the ellipse constraint."""
    middle = np.average(xy, axis=0, weights=weights)
    size = float(np.sqrt(np.average(np.sum((xy - middle) ** 2, axis=1), weights=weights))) or 1.0
    x, y = ((xy - middle) / size).T
    root = np.sqrt(weights)[:, None]
    quadratic = np.stack([x * x, x * y, y * y], axis=1) * root
    linear = np.stack([x, y, np.ones_like(x)], axis=1) * root
    s1, s2, s3 = quadratic.T @ quadratic, quadratic.T @ linear, linear.T @ linear
    try:
        back = -np.linalg.solve(s3, s2.T)
    except np.linalg.LinAlgError:
        return None
    reduced = s1 + s2 @ back
    values, vectors = np.linalg.eig(np.stack([reduced[2] / 2, -reduced[1], reduced[0] / 2]))
    vectors = np.real(vectors)
    constraint = 4 * vectors[0] * vectors[2] - vectors[1] ** 2
    good = np.nonzero(constraint > 0)[0]
    if len(good) == 0:
        return None
    first = vectors[:, good[np.argmin(np.abs(np.real(values[good])))]]
    second = back @ first
    return _unnormalised(first, second, middle, size)


def _unnormalised(first: Floats, second: Floats, middle: Floats, size: float) -> Ellipse | None:
    a, b, c = first
    d, e, f = second
    conic = np.array([[a, b / 2, d / 2], [b / 2, c, e / 2], [d / 2, e / 2, f]])
    if conic[0, 0] < 0:
        conic = -conic
    small = conic_to_ellipse(conic)
    if small is None:
        return None
    cx, cy = middle
    return Ellipse(small.cx * size + cx, small.cy * size + cy, small.a * size, small.b * size, small.angle_deg)


def _design(ellipse: Ellipse, xy: Floats) -> tuple[Floats, Floats]:
    """Derivative of each distance by (cx, cy, three shape terms), (n, 5), and the distances (n,)."""
    distance = signed_distance(ellipse, xy)
    phase = phase_of(ellipse, xy)
    _, normal = points_on(ellipse, phase)
    cos, sin = np.cos(phase), np.sin(phase)
    # Along the normal, with half the support function: growth of a, growth of b, and a shear that turns the axes.
    support = ellipse.a * ellipse.b / np.sqrt((ellipse.b * cos) ** 2 + (ellipse.a * sin) ** 2)
    return np.stack(
        [normal[:, 0], normal[:, 1], support * cos**2, support * sin**2, support * cos * sin], axis=1
    ), distance


def _gauss_newton_step(ellipse: Ellipse, xy: Floats, weights: Floats) -> Ellipse | None:
    design, distance = _design(ellipse, xy)
    weighted = design * weights[:, None]
    try:
        step = np.linalg.solve(weighted.T @ design + 1e-9 * np.eye(5), weighted.T @ distance)
    except np.linalg.LinAlgError:
        return None
    return _stepped(ellipse, np.asarray(step))


def _stepped(ellipse: Ellipse, step: Floats) -> Ellipse | None:
    """Apply (dcx, dcy, relative strain along a, along b, shear) to an ellipse."""
    turn = math.radians(ellipse.angle_deg)
    axes = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    strain = np.array([[1 + step[2], step[4] / 2], [step[4] / 2, 1 + step[3]]])
    frame = axes @ np.diag([ellipse.a, ellipse.b]) @ strain
    spread = frame @ frame.T
    if not np.all(np.isfinite(spread)) or np.linalg.det(spread) <= 0:
        return None
    return ellipse_from_shape(np.array([ellipse.cx + step[0], ellipse.cy + step[1]]), np.linalg.inv(spread))


def relative_radius_u(ellipse: Ellipse, xy: Floats, independent: float) -> float:
    """Standard uncertainty of the mean radius, relative, from the scatter of the edge points.

    Parameters
    ----------
    independent : number of independent points; neighbours along an edge share their error, so it is less than n.
    """
    design, distance = _design(ellipse, xy)
    scatter = float(np.sqrt(np.mean(distance**2)))
    normal = design.T @ design / len(xy)
    try:
        covariance = np.linalg.inv(normal + 1e-12 * np.eye(5)) * scatter**2 / max(independent - 5.0, 1.0)
    except np.linalg.LinAlgError:
        return 1.0
    direction = np.array([0, 0, 0.5, 0.5, 0])
    return float(np.sqrt(max(direction @ covariance @ direction, 0.0)))
