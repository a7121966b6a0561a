"""Where nests of rings lie: centre, tilt and orientation shared by the rings of one part.

Seen from afar, the concentric circles of a part become ellipses with one centre c and one shape M, and at any edge
point x of any of them the gradient is along M (x - c). That is linear in M and M c, so two arcs, of the same ring or of
two different ones, give the frame at once; arcs that hold their radius in it vote for it. Perspective bends this by a
few percent of the radius, which the later fit of each ring takes out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.conics import conic_to_ellipse
from screener.vision.rings.edges import Arc

Floats = NDArray[np.float64]

LEAST_FLATNESS = 0.5
"""b/a of 0.5 is a tilt of 60 degrees: beyond it nothing on the face can be read or measured."""
SAMPLES_PER_ARC = 12
MOST_ARCS = 52
RADIUS_TOLERANCE = 0.02
TIGHT = 0.012
LINE_STIFFNESS = 12.0
"""Weight of the expected vanishing line: as much as a hundred arcs that would be off by as much."""
DIRECTION_TOLERANCE = 0.2


@dataclass(frozen=True, slots=True)
class Frame:
    """What the coplanar rings of a nest share.

    Their conics are the pencil A - r^2 l l', A the conic of the common centre and l the vanishing line of their plane:
    the radius of a point x is sqrt((x - c)' M (x - c)) / (1 + k (x - c)), in pixels of the major axis at the centre.
    """

    centre: Floats
    """c, (2,) px"""
    shape: Floats
    """M, (2, 2), smaller eigenvalue 1"""
    line: Floats
    """k, (2,) per px; zero from afar"""
    votes_rad: float
    """Sum of the angles under which the agreeing arcs are seen from the centre."""
    reach_px: float
    """Radius of the outermost arc that agrees."""

    def radius(self, xy: Floats) -> Floats:
        """Radius of points (n, 2) in the frame, px."""
        rel = xy - self.centre
        level = ((rel @ self.shape) * rel).sum(axis=-1)
        return np.asarray(np.sqrt(np.maximum(level, 1e-12)) / np.maximum(1.0 + rel @ self.line, 0.2))

    def agreement(self, xy: Floats, gradient: Floats) -> Floats:
        """Cosine between gradient and outward normal of the ring through each point; its sign is the polarity."""
        outward = self._outward(xy)
        return np.asarray((outward * gradient).sum(axis=-1))

    def turned(self, xy: Floats, gradient: Floats) -> Floats:
        """Sine of the angle between the gradient and the ring's normal."""
        outward = self._outward(xy)
        return np.asarray(outward[..., 0] * gradient[..., 1] - outward[..., 1] * gradient[..., 0])

    def _outward(self, xy: Floats) -> Floats:
        rel = xy - self.centre
        pulled = rel @ self.shape
        level = (rel * pulled).sum(axis=-1)
        outward = pulled * (1.0 + rel @ self.line)[..., None] - level[..., None] * self.line
        return np.asarray(outward / np.maximum(np.linalg.norm(outward, axis=-1, keepdims=True), 1e-12))

    def ring(self, radius_px: float) -> Ellipse | None:
        """The ellipse of a given radius."""
        level = np.zeros((3, 3))
        level[:2, :2] = self.shape
        vanishing = np.concatenate([self.line, [1.0]])
        conic = level - radius_px**2 * np.outer(vanishing, vanishing)
        local = conic_to_ellipse(conic)
        if local is None:
            return None
        return Ellipse(local.cx + self.centre[0], local.cy + self.centre[1], local.a, local.b, local.angle_deg)


@dataclass(frozen=True, slots=True)
class _ArcTable:
    """The arcs in arrays: samples (k, s, 2), their gradients, lengths (k,), normal equations (k, 5, 5)."""

    xy: Floats
    gradient: Floats
    length: Floats
    middle: Floats
    normal: Floats


def find_frames(arcs: tuple[Arc, ...], size_px: float, focal_px: float, most: int = 6) -> list[Frame]:
    """Nests in order of their votes.

    Parameters
    ----------
    arcs : arcs of the working copy
    size_px : longer side of the working copy
    focal_px : about the focal length in its pixels; only a start
    most : how many nests to give at most
    """
    table = _table(arcs)
    if table is None:
        return []
    centres, shapes = _hypotheses(table, size_px)
    frames: list[Frame] = []
    free = np.ones(len(table.length), dtype=bool)
    held = (
        np.concatenate([_holds(table, centres[i : i + 400], shapes[i : i + 400]) for i in range(0, len(centres), 400)])
        if len(centres)
        else np.zeros((0, len(free)))
    )
    while len(frames) < most and len(held):
        votes = held @ free
        best = int(np.argmax(votes))
        if votes[best] < 2.0:
            break
        rough = Frame(centres[best], shapes[best], np.zeros(2), float(votes[best]), 0.0)
        seed = replace(rough, reach_px=float(rough.radius(table.xy).mean(axis=1)[held[best] > 0].max()))
        frame, members = _refined(table, seed, free, focal_px)
        frames.append(frame)
        # Short arcs within a nest (balls, letters) are part of it.
        enclosed = (frame.radius(table.middle) < frame.reach_px) & (table.length < 0.5 * frame.reach_px)
        free &= ~members & (held[best] == 0) & ~enclosed
    return frames


def _table(arcs: tuple[Arc, ...]) -> _ArcTable | None:
    worth = [(min(arc.turning_rad, 3.0) * len(arc.xy), arc) for arc in arcs if arc.turning_rad > 0.25]
    chosen = [arc for _, arc in sorted(worth, key=lambda pair: -pair[0])[:MOST_ARCS]]
    if not chosen:
        return None
    picks = [np.linspace(2, len(arc.xy) - 3, SAMPLES_PER_ARC).astype(int) for arc in chosen]
    xy = np.stack([arc.xy[pick] for arc, pick in zip(chosen, picks, strict=True)])
    gradient = np.stack([arc.gradient[pick] for arc, pick in zip(chosen, picks, strict=True)])
    length = np.array([len(arc.xy) for arc in chosen], dtype=np.float64)
    middle = xy.mean(axis=1)
    rows = _equations(xy - middle[:, None, :], gradient)
    normal = np.einsum("ksi,ksj->kij", rows, rows) * (length / SAMPLES_PER_ARC)[:, None, None]
    return _ArcTable(xy, gradient, length, middle, normal)


def _equations(xy: Floats, gradient: Floats) -> Floats:
    """Rows of the linear equations in (m11, m12, m22, (Mc)1, (Mc)2): the gradient is parallel to M x - M c."""
    x, y = xy[..., 0], xy[..., 1]
    gx, gy = gradient[..., 0], gradient[..., 1]
    return np.stack([-gy * x, gx * x - gy * y, gx * y, gy, -gx], axis=-1)


def _moved(normal: Floats, shift: Floats) -> Floats:
    """Normal equations (n, 5, 5) after moving the origin by the shift (n, 2)."""
    transform = np.tile(np.eye(5), (len(shift), 1, 1))
    transform[:, 0, 3] = shift[:, 0]
    transform[:, 1, 3] = shift[:, 1]
    transform[:, 1, 4] = shift[:, 0]
    transform[:, 2, 4] = shift[:, 1]
    return np.asarray(transform @ normal @ transform.transpose(0, 2, 1))


def _solved(normal: Floats, origin: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """Centres and shapes from normal equations about an origin; those that are no ellipse are left out."""
    factor = np.ones((len(scale), 5))
    factor[:, :3] = 1.0 / scale[:, None]
    _, vectors = np.linalg.eigh(normal * factor[:, :, None] * factor[:, None, :])
    answer = vectors[:, :, 0] * factor
    shape = np.stack([answer[:, [0, 1]], answer[:, [1, 2]]], axis=1)
    trace = np.trace(shape, axis1=1, axis2=2)
    shape /= np.where(trace == 0, 1.0, trace)[:, None, None]
    moved = answer[:, 3:] / np.where(trace == 0, 1.0, trace)[:, None]
    low = np.linalg.eigvalsh(shape)
    good = (low[:, 0] > 0) & (low[:, 0] > LEAST_FLATNESS**2 * low[:, 1])
    shape, moved, low = shape[good], moved[good], low[good]
    centre = np.linalg.solve(shape, moved[..., None])[..., 0] + origin[good]
    return centre, shape / low[:, 0][:, None, None]


def _hypotheses(table: _ArcTable, size_px: float) -> tuple[Floats, Floats]:
    """Frames from every arc alone and from every pair of arcs."""
    first, second = np.triu_indices(len(table.length))
    weight_1 = 1.0 / table.length[first]
    weight_2 = 1.0 / table.length[second]
    middle = 0.5 * (table.middle[first] + table.middle[second])
    normal = weight_1[:, None, None] * _moved(
        table.normal[first], table.middle[first] * 0 + (middle - table.middle[first])
    )
    normal = normal + weight_2[:, None, None] * _moved(table.normal[second], middle - table.middle[second])
    spread = np.linalg.norm(table.middle[first] - table.middle[second], axis=1) + 0.3 * (
        table.length[first] + table.length[second]
    )
    centre, shape = _solved(normal, middle, np.maximum(spread, 5.0))
    inside = np.all((centre > -0.2 * size_px) & (centre < 1.2 * size_px), axis=1)
    return centre[inside], shape[inside]


def _holds(table: _ArcTable, centres: Floats, shapes: Floats) -> Floats:
    """Votes (h, k): the angle under which arc k is seen in frame h where it agrees with it, else 0."""
    xy, gradient = table.xy.astype(np.float32), table.gradient.astype(np.float32)
    centre, shape = centres.astype(np.float32), shapes.astype(np.float32)
    x = xy[None, ..., 0] - centre[:, 0, None, None]
    y = xy[None, ..., 1] - centre[:, 1, None, None]
    out_x = shape[:, 0, 0, None, None] * x + shape[:, 0, 1, None, None] * y
    out_y = shape[:, 0, 1, None, None] * x + shape[:, 1, 1, None, None] * y
    radius = np.sqrt(np.maximum(x * out_x + y * out_y, 1e-12))
    norm = np.sqrt(np.maximum(out_x * out_x + out_y * out_y, 1e-12))
    sine = np.abs(out_x * gradient[None, ..., 1] - out_y * gradient[None, ..., 0]) / norm
    mean = radius.mean(axis=2)
    steady = radius.std(axis=2) < RADIUS_TOLERANCE * mean + 0.5
    aligned = sine.mean(axis=2) < DIRECTION_TOLERANCE
    # An arc much nearer to the centre than it is long, or one seen under a sliver, proves nothing.
    seen = np.minimum(table.length[None] / mean, 2 * np.pi)
    return np.where(steady & aligned & (mean > 8) & (seen > 0.2), seen, 0.0)


def _refined(
    table: _ArcTable, seed: Frame, free: NDArray[np.bool_], focal_px: float
) -> tuple[Frame, NDArray[np.bool_]]:
    """Solve the frame again from all arcs that agree with it, with perspective.

    Tilt and vanishing line belong together: a plane that leans by t has its vanishing line f / tan t away, along the
    minor axis, on one side or the other. Both sides and the view from afar are tried.
    """
    values, vectors = np.linalg.eigh(seed.shape)
    lean = np.sqrt(max(values[1] / values[0] - 1.0, 0.0)) / focal_px * vectors[:, 1]
    starts = [np.zeros(2), lean, -lean] if np.linalg.norm(lean) * seed.reach_px > 0.05 else [np.zeros(2)]
    best, best_votes = seed, _votes(table, seed, TIGHT) * free
    for line in starts:
        # The large rings that made the seed stay where they are; the common centre moves under them.
        moved = seed.reach_px**2 * np.linalg.solve(seed.shape, line)
        trial = Frame(seed.centre - moved, seed.shape, line, 0.0, 0.0)
        for slack in (0.08, 0.03):
            near = _votes(table, trial, 2.0 * slack) * free
            again = polished(trial, table, near, slack, line)
            if again is None:
                break
            trial = again
        votes = _votes(table, trial, TIGHT) * free
        if votes.sum() > best_votes.sum():
            best, best_votes = trial, votes
    votes = _votes(table, best, RADIUS_TOLERANCE) * free
    reach = float(np.max(np.where(votes > 0, best.radius(table.xy).mean(axis=1), 0.0), initial=10.0))
    return Frame(best.centre, best.shape, best.line, float(votes.sum()), reach), votes > 0


def frame_of_rings(frame: Frame, outlines: list[tuple[Floats, Floats, float]]) -> Frame:
    """Solve a frame again from whole rings instead of arcs.

    Parameters
    ----------
    frame : first guess
    outlines : for each ring points (s, 2), outward normals (s, 2), the same s for all, and its weight (coverage)
    """
    if len(outlines) < 2:
        return frame
    xy = np.stack([outline[0] for outline in outlines])
    normal = np.stack([outline[1] for outline in outlines])
    votes = np.array([outline[2] for outline in outlines])
    count = len(outlines)
    table = _ArcTable(xy, normal, np.ones(count), xy.mean(axis=1), np.zeros((count, 5, 5)))
    again = polished(frame, table, votes, 0.03, frame.line)
    if again is None:
        return frame
    return Frame(again.centre, again.shape, again.line, frame.votes_rad, frame.reach_px)


def _votes(table: _ArcTable, frame: Frame, tolerance: float) -> Floats:
    radius = frame.radius(table.xy)
    mean = radius.mean(axis=1)
    steady = radius.std(axis=1) < tolerance * mean + 0.5
    aligned = np.median(np.abs(frame.turned(table.xy, table.gradient)), axis=1) < DIRECTION_TOLERANCE
    seen = np.minimum(table.length / mean, 2 * np.pi)
    return np.where(steady & aligned & (mean > 8) & (seen > 0.2), seen, 0.0)


def polished(frame: Frame, table: _ArcTable, votes: Floats, slack: float, line: Floats) -> Frame | None:
    """Gauss-Newton on the arcs' directions and on the steadiness of their radii.

    Parameters
    ----------
    slack : relative radius error beyond which a point is taken to belong to something else
    line : where the vanishing line is expected
    """
    use = votes > 0
    if np.count_nonzero(use) < 2:
        return None
    xy, gradient = table.xy[use], table.gradient[use]
    size = float(np.median(frame.radius(xy)))
    weight = np.sqrt(votes[use])[:, None]

    def unpacked(step: Floats) -> Frame | None:
        trace = np.trace(frame.shape)
        shape = frame.shape + trace * np.array([[step[2], step[3]], [step[3], -step[2]]])
        low = np.linalg.eigvalsh(shape)
        if low[0] < LEAST_FLATNESS**2 * low[1]:
            return None
        line = frame.line + step[4:] / size
        return Frame(frame.centre + size * step[:2], shape / low[0], line, 0.0, 0.0)

    def residual(trial: Frame) -> Floats:
        turned = trial.turned(xy, gradient) * weight
        radius = trial.radius(xy)
        uneven = (radius / radius.mean(axis=1, keepdims=True) - 1.0) * weight
        # Rings at different heights look much like perspective, so the line is held near what the tilt makes likely.
        held = (trial.line - line) * size * LINE_STIFFNESS
        return np.concatenate([_soft(turned, 0.1).ravel(), _soft(uneven, slack).ravel() * 4.0, held])

    for _ in range(4):
        base = residual(frame)
        columns = []
        for i in range(6):
            nudge = np.zeros(6)
            nudge[i] = 1e-4
            trial = unpacked(nudge)
            if trial is None:
                return None
            columns.append((residual(trial) - base) / 1e-4)
        jacobian = np.stack(columns, axis=1)
        step = -np.linalg.solve(jacobian.T @ jacobian + 1e-6 * np.eye(6), jacobian.T @ base)
        moved = unpacked(np.clip(step, -0.2, 0.2))
        if moved is None:
            return None
        frame = moved
    return frame


def _soft(residual: Floats, scale: float) -> Floats:
    """Signed square root of the Geman-McClure loss: far-off points stop pulling."""
    return np.asarray(residual / np.sqrt(1.0 + (residual / scale) ** 2))
