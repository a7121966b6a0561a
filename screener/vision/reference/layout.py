"""Layout: is each element of the reference in its place, moved, or gone; and is there print that it lacks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.elements import Element, Rect, covered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.reference.light import Matched

LEAST_SHIFT = 0.0085
"""Of the panel's longest side: below this a shift is left to the panel's bend and the printer's feed."""
SEARCH = 0.075
"""How far a moved element is searched for, of the longest side."""
_IN_PLACE = 0.78
_FOUND = 0.72
_BETTER = 0.12
_GONE_CONTRAST = 0.45
_GONE_EDGES, _FRAME_CONTRAST = 0.2, 0.7
"""Of the contrast across its own strokes, what an element keeps at most where only a frame around it is left."""
_LEAST_CONTRAST = 9.0
_LEAST_FIXED_PX = 3
_ADDED_SIDE = 0.014
_ADDED_PIXELS = 0.00012


@dataclass(frozen=True, slots=True)
class Standing:
    """How an element of the reference stands in the photo."""

    element: Element
    state: str
    """in place, moved, gone, changed, or cannot be told."""
    correlation: float
    """At its own place."""
    dx: float = 0.0
    dy: float = 0.0
    """Shift, frame px."""
    moved_correlation: float = 0.0
    contrast: float = 1.0
    """Of the photo's print there, by the reference's."""


def standings(elements: Sequence[Element], matched: Matched) -> tuple[Standing, ...]:
    """Judge each element of the reference."""
    first = [_standing(e, matched) for e in elements]
    home = [s.element.place for s in first if s.state == "in place"]
    # Lines of one height look alike as grey bars: where another element stands in place, none has moved to.
    return tuple(_standing(s.element, matched, may_move=False) if _taken(s, home) else s for s in first)


def _taken(s: Standing, home: Sequence[Rect]) -> bool:
    return s.state == "moved" and any(place.overlap(s.element.place.moved(s.dx, s.dy)) > 0.5 for place in home)


def _standing(element: Element, matched: Matched, *, may_move: bool = True) -> Standing:
    height, width = matched.expected.shape
    side = max(height, width)
    fixed = place = _fixed_part(element)
    if min(fixed.width, fixed.height) < _LEAST_FIXED_PX:
        # Nearly all of it differs from box to box.
        return Standing(element, "cannot be told", 0.0)
    grown = place.grown(max(3, round(0.005 * side)), (width, height))
    # Beside the panel's rim there is no room for a margin.
    place = grown if grown.cut(matched.judged).mean() > 0.9 else place
    if place.width < 8 or place.height < 8 or not place.cut(matched.judged).mean() > 0.9:
        return Standing(element, "cannot be told", 0.0)
    expected, seen = _textured(element, matched)
    template = np.ascontiguousarray(place.cut(expected), np.float32)
    spread = float(template.std())
    if spread < max(_LEAST_CONTRAST if element.kind != "code" else 3.0, 2.5 * matched.noise):
        return Standing(element, "cannot be told", 0.0)
    reach = round(SEARCH * side)
    score, x0, y0 = _scores(template, place, seen, reach)
    at_home, home_x, home_y = _best_near(score, x0, y0, max(2, round(0.0045 * side)))
    best, dx, dy = _best_near(score, x0, y0, reach)
    contrast = _contrast(place, expected, seen)
    kept = 1.0 if element.kind == "code" else _edges_kept(fixed, expected, seen)
    shift = math.hypot(dx, dy)
    plain = best >= _FOUND and best - at_home >= _BETTER and shift >= LEAST_SHIFT * side
    if may_move and plain and not _slides(template, dx, dy):
        return Standing(element, "moved", at_home, dx, dy, best, contrast)
    if at_home >= _IN_PLACE:
        return Standing(element, "in place", at_home, home_x, home_y, best, contrast)
    empty = contrast < _GONE_CONTRAST or (kept < _GONE_EDGES and contrast < _FRAME_CONTRAST)
    if empty and at_home < 0.6:
        return Standing(element, "gone", at_home, contrast=contrast)
    return Standing(element, "changed", at_home, contrast=contrast)


def _fixed_part(element: Element) -> Rect:
    """The longest part of an element that does not differ from box to box."""
    if not element.free or element.kind != "text":
        return element.place
    place, edges = element.place, [element.place.left]
    for part in sorted(element.free, key=lambda r: r.left):
        edges += [max(place.left, part.left), min(place.right, part.right)]
    edges.append(place.right)
    spans = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=False) if b > a]
    left, right = max(spans, key=lambda s: s[1] - s[0], default=(place.left, place.left))
    return Rect(left, place.top, right, place.bottom)


def _textured(element: Element, matched: Matched) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What is compared: the print itself, or for codes, whose content may differ, how dense their structure is."""
    if element.kind != "code":
        return matched.expected, matched.seen
    sigma = max(2.0, 0.004 * max(matched.expected.shape))
    return _density(matched.expected, sigma), _density(matched.seen, sigma)


def _density(gray: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(np.minimum(_steepness(gray), 160), (0, 0), sigma), np.float32)


def _scores(
    template: NDArray[np.float32], place: Rect, seen: NDArray[np.float32], reach: int
) -> tuple[NDArray[np.float32], int, int]:
    """Correlation at each shift, and the index of no shift."""
    height, width = seen.shape
    left, top = max(0, place.left - reach), max(0, place.top - reach)
    window = seen[top : min(height, place.bottom + reach), left : min(width, place.right + reach)]
    score = cv2.matchTemplate(np.ascontiguousarray(window), template, cv2.TM_CCOEFF_NORMED)
    return np.nan_to_num(np.asarray(score, np.float32)), place.left - left, place.top - top


def _best_near(score: NDArray[np.float32], x0: int, y0: int, reach: int) -> tuple[float, float, float]:
    left, top = max(0, x0 - reach), max(0, y0 - reach)
    part = score[top : y0 + reach + 1, left : x0 + reach + 1]
    y, x = np.unravel_index(int(part.argmax()), part.shape)
    return float(part[y, x]), float(x + left - x0), float(y + top - y0)


def _contrast(place: Rect, expected: NDArray[np.float32], seen: NDArray[np.float32]) -> float:
    """Fine structure of the photo in a place, by that of the reference."""
    one, two = (place.cut(g).astype(np.float64) for g in (expected, seen))
    return float(two.std() / max(one.std(), 1e-6))


def _edges_kept(place: Rect, expected: NDArray[np.float32], seen: NDArray[np.float32]) -> float:
    """Steepness of the photo where the reference has the strokes of an element, by the reference's."""
    one, two = (_steepness(np.ascontiguousarray(place.cut(g), np.float32)) for g in (expected, seen))
    strokes = one > 0.35 * float(np.percentile(one, 97))
    nearby = cv2.dilate(two, np.ones((3, 3), np.uint8))
    return float(np.median(nearby[strokes] / np.maximum(one[strokes], 1e-3))) if strokes.any() else 1.0


def _steepness(gray: NDArray[np.float32]) -> NDArray[np.float32]:
    step = np.hypot(cv2.Sobel(gray, cv2.CV_32F, 1, 0), cv2.Sobel(gray, cv2.CV_32F, 0, 1))
    return np.asarray(step, np.float32)


def _slides(template: NDArray[np.float32], dx: float, dy: float) -> bool:
    """Whether the template is all lines along the shift: then it fits anywhere along them."""
    gx, gy = cv2.Sobel(template, cv2.CV_32F, 1, 0), cv2.Sobel(template, cv2.CV_32F, 0, 1)
    n = math.hypot(dx, dy)
    along = float(((gx * dx / n + gy * dy / n) ** 2).mean())
    return along < 0.06 * float((gx * gx + gy * gy).mean())


@dataclass(frozen=True, slots=True)
class Leftover:
    """Print on one side only that no element accounts for."""

    place: Rect
    added: bool
    strength: float
    """Departure over its tolerance."""


def leftovers(
    matched: Matched, ignored: Sequence[Rect], tolerance: NDArray[np.float32] | None = None
) -> tuple[Leftover, ...]:
    """Find print that only the photo or only the reference shows, outside the places ignored.

    ``tolerance`` (H, W), grey levels, is added to what is allowed: what references differ by among themselves.
    """
    open_to_both = matched.judged & ~covered(ignored, matched.judged.shape)
    added = _beyond(matched.seen, matched.expected, matched, tolerance)
    lost = _beyond(matched.expected, matched.seen, matched, tolerance)
    found = []
    for over, is_added in ((added, True), (lost, False)):
        found += [Leftover(r, is_added, s) for r, s in _patches(over * open_to_both)]
    return tuple(found)


def _beyond(
    one: NDArray[np.float32], two: NDArray[np.float32], matched: Matched, tolerance: NDArray[np.float32] | None
) -> NDArray[np.float32]:
    """By how much ``one`` lies outside what ``two`` shows within a pixel or two, over the allowance (1 = allowed)."""
    reach = max(2, round(0.0028 * max(one.shape)))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    high, low = cv2.dilate(two, kernel), cv2.erode(two, kernel)
    outside = np.maximum(np.maximum(one - high, low - one), 0)
    allowed = 4 * matched.noise + 0.13 * matched.contrast + 0.1 * (high - low)
    if tolerance is not None:
        allowed = allowed + tolerance
    return np.asarray(outside / allowed, np.float32)


def _patches(over: NDArray[np.float32]) -> list[tuple[Rect, float]]:
    side = max(over.shape)
    mask = (over > 1).astype(np.uint8)
    join = max(3, round(0.016 * side) | 1)
    joined = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((join, join), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    patches = []
    for number in range(1, count):
        left, top, width, height, _area = (int(v) for v in stats[number])
        inside = (labels[top : top + height, left : left + width] == number) & (
            mask[top : top + height, left : left + width] > 0
        )
        if max(width, height) < _ADDED_SIDE * side or inside.sum() < _ADDED_PIXELS * over.size:
            continue
        strength = float(np.percentile(over[top : top + height, left : left + width][inside], 75))
        patches.append((Rect(left, top, left + width, top + height), strength))
    return patches
