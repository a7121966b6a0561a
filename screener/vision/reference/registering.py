"""Lay a photo over a reference: features, homography, refinement; or a sentence on why it could not be done."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from screener.vision.reference.panel import Frame, inner_mask

if TYPE_CHECKING:
    from numpy.typing import NDArray

FEATURE_SIDE_PX = 1300
"""Features are looked for in copies no larger than this."""
LEAST_MATCHED = 24
LEAST_SHARE = 0.12
"""Of the reference's features that found a partner, the share that has to agree on one position."""
LEAST_SCALE = 0.28
"""Photo px per frame px below which the print is too small to be compared."""
MOST_STRETCH = 2.6
"""Ratio of the two sides of a square in the photo: about 67 degrees of tilt."""
LEAST_SEEN = 0.5
PER_CELL = 9
_CELLS = (12, 8)
_RATIO = 0.78
_SOFTER = 0.0018
"""Blur, of the longer side, under which an office printer's dots run together."""
_ECC_SIDE_PX = 700
_BEND_SIDE_PX = 800
_TILES = (7, 9)


class NotLaidError(Exception):
    """The photo could not be laid over the reference; the text says why, for a person."""


@dataclass(frozen=True, eq=False)
class Registration:
    """Where each frame pixel lies in the photo."""

    photo_from_frame: NDArray[np.float64]
    bend: NDArray[np.float64]
    """(2, terms): what a polynomial of the frame position adds in frame px (lens, a panel not quite flat)."""
    size_px: tuple[int, int]
    matched: int
    rms_px: float
    scale: float
    seen_share: float

    def photo_points(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Photo positions (n × 2) of frame positions (n × 2)."""
        bent = points + _terms(points, self.size_px) @ self.bend.T
        return np.asarray(cv2.perspectiveTransform(bent.reshape(1, -1, 2), self.photo_from_frame)[0], np.float64)

    def frame_points(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Inverse of `photo_points`."""
        flat = cv2.perspectiveTransform(
            np.asarray(points, np.float64).reshape(1, -1, 2), np.linalg.inv(self.photo_from_frame)
        )[0]
        back = flat.copy()
        for _ in range(3):
            back = flat - _terms(back, self.size_px) @ self.bend.T
        return np.asarray(back, np.float64)

    def shrunk(self, size_px: tuple[int, int]) -> Registration:
        """The same for a frame made smaller to this size."""
        factor = size_px[0] / self.size_px[0]
        shape = self.photo_from_frame @ np.diag([1 / factor, 1 / factor, 1.0])
        return replace(
            self,
            photo_from_frame=shape,
            bend=self.bend * factor,
            size_px=size_px,
            rms_px=self.rms_px * factor,
            scale=self.scale / factor,
        )

    def warp(self, rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
        """The photo brought to the frame, and where the photo covers the frame."""
        width, height = self.size_px
        grid = np.stack(np.meshgrid(np.arange(0, width, 8), np.arange(0, height, 8)), axis=-1).astype(np.float64)
        seen = self.photo_points(grid.reshape(-1, 2)).reshape(grid.shape).astype(np.float32)
        # The mapping is smooth: every eighth pixel, the rest between.
        full = _between(seen, width, height)
        soft = cv2.GaussianBlur(rgb, (0, 0), 0.35 * self.scale) if self.scale > 1.6 else rgb
        flat = cv2.remap(soft, full[..., 0], full[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        x, y = full[..., 0], full[..., 1]
        covered = (x >= 1) & (y >= 1) & (x < rgb.shape[1] - 2) & (y < rgb.shape[0] - 2)
        return np.asarray(flat, np.uint8), np.asarray(covered, np.bool_)


def register(frame: Frame, photo: NDArray[np.uint8]) -> Registration:
    """Lay a photo over a frame.

    Parameters
    ----------
    frame
        The reference.
    photo
        Upright, (H, W, 3) uint8.

    Raises
    ------
    NotLaidError
        Too few features agree, the photo is too small, too tilted, or shows too little of the panel.
    """
    try:
        shape, matched, _found = _by_features(frame.rgb, photo)
    except NotLaidError:
        # Dots of a coarse print, or grain, hide the print's own corners: once more on softer copies.
        shape, matched, _found = _by_features(_soft(frame.rgb), _soft(photo))
    scale = _usable(shape, frame)
    shape = _by_correlation(frame, photo, shape)
    bend, rms = _bend(frame, photo, shape)
    seen = _seen_share(shape, frame, photo)
    if seen < LEAST_SEEN:
        raise NotLaidError(f"only {100 * seen:.0f} % of the reference's panel is in the photo.")
    return Registration(shape, bend, frame.size_px, matched, rms, scale, seen)


def _soft(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.asarray(cv2.GaussianBlur(rgb, (0, 0), _SOFTER * max(rgb.shape)), np.uint8)


def _gray(rgb: NDArray[np.uint8], side_px: int) -> tuple[NDArray[np.uint8], float]:
    gray = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    shrink = min(1.0, side_px / max(gray.shape))
    if shrink < 1:
        gray = np.asarray(cv2.resize(gray, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8)
    return gray, shrink


def _by_features(frame: NDArray[np.uint8], photo: NDArray[np.uint8]) -> tuple[NDArray[np.float64], int, int]:
    one, shrink_one = _gray(frame, FEATURE_SIDE_PX)
    two, shrink_two = _gray(photo, FEATURE_SIDE_PX)
    finder: Any = cv2.SIFT_create(  # type: ignore[attr-defined]
        nfeatures=3500, contrastThreshold=0.02
    )
    points_one, marks_one = finder.detectAndCompute(one, None)
    points_two, marks_two = finder.detectAndCompute(two, None)
    if marks_one is None or marks_two is None or len(points_one) < LEAST_MATCHED or len(points_two) < LEAST_MATCHED:
        raise NotLaidError("there is too little print to lay the photo over the reference.")
    # Root of the histogram: compared by Hellinger's distance, edges of other contrast still match.
    pairs = _pairs(_rooted(marks_one), _rooted(marks_two))
    if len(pairs) < LEAST_MATCHED:
        raise NotLaidError(_too_few(len(pairs)))
    a = (np.array([points_one[i].pt for i, _ in pairs]) + 0.5) / shrink_one - 0.5
    b = (np.array([points_two[j].pt for _, j in pairs]) + 0.5) / shrink_two - 0.5
    kept = _spread_out(a, frame.shape[1], frame.shape[0])
    a, b = a[kept], b[kept]
    cv2.setRNGSeed(1)
    shape, inside = cv2.findHomography(a, b, cv2.USAC_MAGSAC, 3.0 / shrink_two, maxIters=20000, confidence=0.9999)
    matched = 0 if inside is None else int(inside.sum())
    if shape is None or matched < max(LEAST_MATCHED, LEAST_SHARE * len(a)):
        raise NotLaidError(_too_few(matched))
    return np.asarray(shape, np.float64), matched, len(a)


def _spread_out(points: NDArray[np.float64], width: int, height: int) -> NDArray[np.intp]:
    """At most `PER_CELL` points of each cell, by index: a moved code with many corners must not outvote the rest."""
    across, down = _CELLS
    cells = (points[:, 0] * across // width).astype(int) * down + (points[:, 1] * down // height).astype(int)
    kept: dict[int, list[int]] = {}
    for index in np.random.default_rng(0).permutation(len(points)):
        kept.setdefault(int(cells[index]), []).append(int(index))
    return np.array(sorted(i for group in kept.values() for i in group[:PER_CELL]), np.intp)


def _too_few(matched: int) -> str:
    return (
        f"only {matched} features of the print agree with the reference: it is another side, another package, or the "
        "photo is too poor."
    )


def _rooted(marks: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.sqrt(marks / (marks.sum(axis=1, keepdims=True) + 1e-6)), np.float32)


def _pairs(one: NDArray[np.float32], two: NDArray[np.float32]) -> list[tuple[int, int]]:
    """Index pairs whose best partner is plainly better than the second, and who choose each other."""
    like = one @ two.T
    best = like.argmax(axis=1)
    back = like.argmax(axis=0)
    top = like[np.arange(len(one)), best]
    like[np.arange(len(one)), best] = -1
    second = like.max(axis=1)
    clear = np.sqrt(np.maximum(2 - 2 * top, 0)) < _RATIO * np.sqrt(np.maximum(2 - 2 * second, 1e-9))
    mutual = back[best] == np.arange(len(one))
    return [(int(i), int(best[i])) for i in np.flatnonzero(clear & mutual)]


def _usable(shape: NDArray[np.float64], frame: Frame) -> float:
    """Photo px per frame px; refuses what nobody could compare."""
    width, height = frame.size_px
    corners = np.array([[[0, 0], [width, 0], [width, height], [0, height]]], np.float64)
    quad = cv2.perspectiveTransform(corners, shape)[0]
    if not cv2.isContourConvex(quad.astype(np.float32)):
        raise NotLaidError("what agrees with the reference does not lie in one plane.")
    middle = np.array([[[width / 2, height / 2], [width / 2 + 1, height / 2], [width / 2, height / 2 + 1]]], np.float64)
    o, x, y = cv2.perspectiveTransform(middle, shape)[0]
    sizes = np.linalg.svd(np.column_stack([x - o, y - o]), compute_uv=False)
    if float(np.linalg.det(np.column_stack([x - o, y - o]))) <= 0:
        raise NotLaidError("what agrees with the reference is mirrored.")
    if sizes[0] / max(float(sizes[1]), 1e-9) > MOST_STRETCH:
        raise NotLaidError("the photo is taken too much from the side: look straight at the panel.")
    scale = float(np.sqrt(sizes[0] * sizes[1]))
    if scale < LEAST_SCALE:
        raise NotLaidError("the panel is too small in the photo: go closer.")
    return scale


def _by_correlation(frame: Frame, photo: NDArray[np.uint8], shape: NDArray[np.float64]) -> NDArray[np.float64]:
    """Refine by the enhanced correlation coefficient on evenly lit pictures; without success the start stays."""
    width, height = frame.size_px
    shrink = min(1.0, _ECC_SIDE_PX / max(width, height))
    down = np.diag([shrink, shrink, 1.0])
    size = (round(width * shrink), round(height * shrink))
    small = evenly_lit(np.asarray(cv2.resize(frame.rgb, size, interpolation=cv2.INTER_AREA), np.uint8))
    laid = np.asarray(cv2.warpPerspective(photo, down @ np.linalg.inv(shape), size, flags=cv2.INTER_AREA), np.uint8)
    start = np.eye(3, dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 30, 1e-5)
    rimless = inner_mask(frame.shrunk(max(size))).astype(np.uint8)
    mask = cv2.resize(rimless, size, interpolation=cv2.INTER_NEAREST)
    try:
        _, found = cv2.findTransformECC(
            cv2.GaussianBlur(small, (0, 0), 1.5),
            cv2.GaussianBlur(evenly_lit(laid), (0, 0), 1.5),
            start,
            cv2.MOTION_HOMOGRAPHY,
            stop,
            mask,
        )
    except cv2.error:
        return shape
    corners = np.array([[[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]]], np.float64)
    moved = cv2.perspectiveTransform(corners, found.astype(np.float64)) - corners
    if float(np.abs(moved).max()) > 0.02 * max(size):
        return shape
    better = shape @ np.linalg.inv(down) @ found.astype(np.float64) @ down
    return np.asarray(better / better[2, 2], np.float64)


def evenly_lit(rgb: NDArray[np.uint8], *, reach: float = 0.05) -> NDArray[np.float32]:
    """Grey with light and contrast evened out: departure from the local mean over the local spread, clipped to ±4."""
    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
    sigma = reach * max(gray.shape)
    apart = gray - cv2.GaussianBlur(gray, (0, 0), sigma)
    spread = np.sqrt(cv2.GaussianBlur(apart * apart, (0, 0), sigma)) + 6.0
    return np.asarray(np.clip(apart / spread, -4, 4), np.float32)


def _terms(points: NDArray[np.float64], size_px: tuple[int, int]) -> NDArray[np.float64]:
    half = max(size_px) / 2
    x = (points[:, 0] - size_px[0] / 2) / half
    y = (points[:, 1] - size_px[1] / 2) / half
    return np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3])


def _bend(frame: Frame, photo: NDArray[np.uint8], shape: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Fit a smooth bend to the shifts of tiles. An element that was moved is one tile among many and is outvoted."""
    small = frame.shrunk(_BEND_SIDE_PX)
    factor = small.size_px[0] / frame.size_px[0]
    flat = Registration(
        shape @ np.diag([1 / factor, 1 / factor, 1.0]), np.zeros((2, 10)), small.size_px, 0, 0.0, 1.0, 1.0
    )
    laid, covered = flat.warp(photo)
    places, shifts, weights = _tile_shifts(evenly_lit(small.rgb), evenly_lit(laid), covered)
    if len(places) < 16:
        return np.zeros((2, 10)), 0.5
    shifts = shifts / factor
    terms = _terms(places, small.size_px)
    w = weights.copy()
    for _ in range(8):
        # A little ridge: corners without print must not swing out.
        normal = terms.T @ (terms * w[:, None]) + 0.02 * w.sum() * np.diag([0, 0, 0, *[1] * 3, *[3] * 4]) / 10
        bend = np.linalg.solve(normal, terms.T @ (shifts * w[:, None])).T
        left = np.linalg.norm(shifts - terms @ bend.T, axis=1)
        w = weights / (1 + (left / max(0.4, 1.5 * float(np.median(left)))) ** 2) ** 2
    return bend, float(np.sqrt(np.average(left**2, weights=w)))


def _tile_shifts(
    one: NDArray[np.float32], two: NDArray[np.float32], covered: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Shift of each tile of ``one`` in ``two``: places, shifts (n × 2 px), weights by how sure."""
    height, width = one.shape
    rows, columns = _TILES
    th, tw = height // rows, width // columns
    reach = max(4, round(0.008 * max(height, width)))
    found = []
    for top in range(reach, height - th - reach + 1, max(1, th // 2)):
        for left in range(reach, width - tw - reach + 1, max(1, tw // 2)):
            tile = one[top : top + th, left : left + tw]
            if float(tile.std()) < 0.35 or not covered[top : top + th, left : left + tw].all():
                continue
            window = two[top - reach : top + th + reach, left - reach : left + tw + reach]
            score = cv2.matchTemplate(window, tile, cv2.TM_CCOEFF_NORMED)
            peak = _peak(np.asarray(score, np.float32))
            if peak is not None and peak[2] > 0.6:
                place = (left + tw / 2, top + th / 2)
                found.append((*place, peak[0] - reach, peak[1] - reach, (peak[2] - 0.5) * float(tile.std())))
    table = np.array(found, np.float64).reshape(-1, 5)
    return table[:, :2], table[:, 2:4], table[:, 4]


def _peak(score: NDArray[np.float32]) -> tuple[float, float, float] | None:
    """Position of the maximum to a fraction of a pixel, and its height; None at the rim."""
    _, top, _, (x, y) = cv2.minMaxLoc(score)
    if not (0 < x < score.shape[1] - 1 and 0 < y < score.shape[0] - 1):
        return None
    return x + _vertex(score[y, x - 1 : x + 2]), y + _vertex(score[y - 1 : y + 2, x]), float(top)


def _vertex(three: NDArray[np.float32]) -> float:
    curve = float(three[0] - 2 * three[1] + three[2])
    return 0.0 if curve >= 0 else float(np.clip(0.5 * float(three[0] - three[2]) / curve, -0.5, 0.5))


def _between(coarse: NDArray[np.float32], width: int, height: int) -> NDArray[np.float32]:
    x = np.arange(width, dtype=np.float32) / 8
    y = np.arange(height, dtype=np.float32) / 8
    gx, gy = np.meshgrid(np.minimum(x, coarse.shape[1] - 1), np.minimum(y, coarse.shape[0] - 1))
    inside = cv2.remap(coarse, gx, gy, cv2.INTER_LINEAR)
    # Beyond the last grid line the mapping goes on straight.
    over_x, over_y = np.maximum(x - (coarse.shape[1] - 1), 0), np.maximum(y - (coarse.shape[0] - 1), 0)
    step_x, step_y = coarse[:, -1] - coarse[:, -2], coarse[-1] - coarse[-2]
    rows = np.rint(np.clip(y, 0, coarse.shape[0] - 1)).astype(int)
    columns = np.rint(np.clip(x, 0, coarse.shape[1] - 1)).astype(int)
    inside += over_x[None, :, None] * step_x[rows][:, None]
    inside += over_y[:, None, None] * step_y[columns][None]
    return np.asarray(inside, np.float32)


def _seen_share(shape: NDArray[np.float64], frame: Frame, photo: NDArray[np.uint8]) -> float:
    width, height = frame.size_px
    grid = np.stack(np.meshgrid(np.linspace(0, width, 24), np.linspace(0, height, 24)), axis=-1).reshape(1, -1, 2)
    seen = cv2.perspectiveTransform(grid, shape)[0]
    inside = (seen >= 0).all(axis=1) & (seen[:, 0] < photo.shape[1]) & (seen[:, 1] < photo.shape[0])
    return float(inside.mean())
