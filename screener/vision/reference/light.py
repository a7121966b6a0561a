"""Bring reference and photo to the same light, tone and blur, so that only the print is compared.

The photo's grey is modelled as the reference's grey, blurred, under a smooth light (a quadratic in the frame, in
logarithms) and a tone curve (piecewise linear in the reference's level). The fit is robust: what was added or left out
is an outlier of it, not part of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

BASE_BLUR_PX = 0.7
"""Both sides are smoothed by this: single pixels are noise."""
MOST_BLUR_PX = 5.0
_KNOTS = 6
_SAMPLES = 9000
_BLOWN = 251


@dataclass(frozen=True, eq=False)
class Matched:
    """Reference and photo in one light; grey levels 0 to 255 of the photo, float32, frame size."""

    expected: NDArray[np.float32]
    """What the photo would show if the print were as in the reference."""
    seen: NDArray[np.float32]
    """What it shows."""
    judged: NDArray[np.bool_]
    """Where it can be told: inside the photo, off the rim, not burnt out."""
    noise: float
    """Standard deviation of the difference where nothing is printed, grey levels."""
    reference_blur_px: float
    """Added to the reference to match the photo."""
    photo_blur_px: float
    """Added to the photo to match the reference."""
    contrast: float
    """Between light and dark print in the photo, grey levels."""


def match_light(
    reference: NDArray[np.uint8],
    photo: NDArray[np.uint8],
    judged: NDArray[np.bool_],
    known_blur_px: float | None = None,
) -> Matched:
    """Match a reference frame and a photo laid on it.

    Parameters
    ----------
    reference, photo
        (H, W, 3) uint8, same size.
    judged
        (H, W): where the two can be compared.
    known_blur_px
        Blur of the photo against the reference (negative: the reference is the blurrier), if known from elsewhere.
    """
    ref = _smooth(cv2.cvtColor(reference, cv2.COLOR_RGB2GRAY).astype(np.float32))
    seen = _smooth(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY).astype(np.float32))
    judged = judged & ~_burnt(photo, reference)
    expected = _in_photo_light(ref, seen, judged)
    blur = relative_blur(expected, seen, judged) if known_blur_px is None else known_blur_px
    if blur > 0:
        expected = _in_photo_light(_more_blurred(ref, blur), seen, judged)
    elif blur < 0:
        seen = _more_blurred(seen, -blur)
        expected = _in_photo_light(ref, seen, judged)
    noise = _noise(expected, seen, judged)
    low, high = np.percentile(expected[judged], [3, 97]) if judged.any() else (0.0, 1.0)
    return Matched(expected, seen, judged, noise, max(blur, 0.0), max(-blur, 0.0), float(high - low))


def _smooth(gray: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(gray, (0, 0), BASE_BLUR_PX), np.float32)


def _more_blurred(gray: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(gray, (0, 0), sigma), np.float32)


def _burnt(photo: NDArray[np.uint8], reference: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Burnt-out places of some size where the reference has print or colour: nothing can be told there."""
    top = (photo.min(axis=2) >= _BLOWN).astype(np.uint8)
    burnt = np.asarray(cv2.morphologyEx(top, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8)), np.uint8)
    printed = np.asarray(
        cv2.dilate((reference.min(axis=2) < 170).astype(np.uint8), np.ones((5, 5), np.uint8)), np.uint8
    )
    if float((burnt & printed).sum()) < 0.0004 * burnt.size:
        # White paper at the top of the scale is well exposed, not glare, as long as the print on it shows.
        return np.zeros(burnt.shape, np.bool_)
    return np.asarray(cv2.dilate(burnt, np.ones((31, 31), np.uint8)) > 0, np.bool_)


def _in_photo_light(
    ref: NDArray[np.float32], seen: NDArray[np.float32], judged: NDArray[np.bool_]
) -> NDArray[np.float32]:
    height, width = ref.shape
    flat = _flat_places(ref, judged)
    if flat.size < 200:
        flat = np.flatnonzero(judged.ravel())
    if flat.size < 50:
        return ref
    pick = np.random.default_rng(0).choice(flat, min(_SAMPLES, flat.size), replace=False)
    y, x = np.divmod(pick, width)
    levels = np.log(ref.ravel()[pick] + 8)
    knots = np.quantile(levels, np.linspace(0, 1, _KNOTS))
    knots = np.unique(np.maximum.accumulate(knots + np.arange(_KNOTS) * 1e-3))
    terms = np.column_stack([_hats(levels, knots), _light_terms(x, y, width, height)])
    target = np.log(seen.ravel()[pick] + 8) - levels
    weight = np.ones(len(pick))
    for _ in range(10):
        normal = terms.T @ (terms * weight[:, None]) + 1e-3 * len(pick) * np.eye(terms.shape[1]) * 1e-2
        found = np.linalg.solve(normal, terms.T @ (target * weight))
        left = np.abs(target - terms @ found)
        weight = 1 / (1 + (left / max(0.02, 2.5 * float(np.median(left)))) ** 2) ** 2
    everywhere = np.log(ref + 8)
    grid_y, grid_x = np.mgrid[0:height, 0:width]
    tone = np.interp(everywhere.ravel(), knots, found[: len(knots)]).reshape(ref.shape)
    light = (_light_terms(grid_x.ravel(), grid_y.ravel(), width, height) @ found[len(knots) :]).reshape(ref.shape)
    return np.asarray(np.exp(everywhere + tone + light) - 8, np.float32)


def _flat_places(ref: NDArray[np.float32], judged: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Indices of places without edges, ink and paper weighted alike as far as there are both."""
    gx, gy = cv2.Sobel(ref, cv2.CV_32F, 1, 0), cv2.Sobel(ref, cv2.CV_32F, 0, 1)
    flat = (np.hypot(gx, gy) < 30) & judged
    places = np.flatnonzero(flat.ravel())
    values = ref.ravel()[places]
    if places.size < 1000:
        return places
    # Paper covers most of a panel; a tone curve needs the ink as well.
    edges = np.linspace(values.min(), values.max() + 1, 9)
    groups = [places[(values >= a) & (values < b)] for a, b in pairwise(edges)]
    most = max(200, places.size // 6)
    thin = [g if g.size <= most else np.random.default_rng(1).choice(g, most, replace=False) for g in groups]
    return np.concatenate(thin)


def _hats(levels: NDArray[np.float64], knots: NDArray[np.float64]) -> NDArray[np.float64]:
    """Piecewise-linear basis on the knots."""
    return np.stack([np.interp(levels, knots, row) for row in np.eye(len(knots))], axis=1)


def _light_terms(x: NDArray[np.intp], y: NDArray[np.intp], width: int, height: int) -> NDArray[np.float64]:
    u, v = x / width - 0.5, y / height - 0.5
    return np.column_stack([u, v, u * u - 1 / 12, u * v, v * v - 1 / 12])


def relative_blur(expected: NDArray[np.float32], seen: NDArray[np.float32], judged: NDArray[np.bool_]) -> float:
    """How much blurrier the photo is than the reference: sigma in px to add to the reference; negative, to the photo.

    Two pictures of one print have the same gradient energy once they are blurred alike; the median over places is not
    moved by what is missing or added.
    """
    energy, mask = _energy(seen), judged[::4, ::4]
    base = _energy(expected)
    strong = mask & (base > np.percentile(base[mask], 80) if mask.any() else mask)
    if strong.sum() < 30:
        return 0.0
    change = float(np.median(energy[strong] / np.maximum(base[strong], 1e-3)))
    if change >= 1:
        return -_sigma_for(seen, strong, 1 / change, energy)
    return _sigma_for(expected, strong, change, base)


def _sigma_for(gray: NDArray[np.float32], strong: NDArray[np.bool_], wanted: float, base: NDArray[np.float32]) -> float:
    """The blur that lowers the gradient energy to the share wanted."""
    low, high = 0.0, MOST_BLUR_PX
    if wanted > 0.97:
        return 0.0
    for _ in range(6):
        middle = (low + high) / 2
        share = float(np.median(_energy(_more_blurred(gray, middle))[strong] / np.maximum(base[strong], 1e-3)))
        low, high = (middle, high) if share > wanted else (low, middle)
    return (low + high) / 2


def _energy(gray: NDArray[np.float32]) -> NDArray[np.float32]:
    gx, gy = cv2.Sobel(gray, cv2.CV_32F, 1, 0), cv2.Sobel(gray, cv2.CV_32F, 0, 1)
    return np.asarray(cv2.boxFilter(gx * gx + gy * gy, -1, (25, 25))[::4, ::4], np.float32)


def _noise(expected: NDArray[np.float32], seen: NDArray[np.float32], judged: NDArray[np.bool_]) -> float:
    gx, gy = cv2.Sobel(expected, cv2.CV_32F, 1, 0), cv2.Sobel(expected, cv2.CV_32F, 0, 1)
    flat = judged & (np.hypot(gx, gy) < 8)
    if flat.sum() < 200:
        return 4.0
    apart = (seen - expected)[flat]
    return max(1.0, 1.4826 * float(np.median(np.abs(apart - np.median(apart)))))
