"""Whether two pictures of one frame show two parts: exposures by a camera that did not move share everything else.

A copy agrees in the part as well as it does around it. Another part of the kind, laid in the same place, has its balls,
grinding, mark and reflections elsewhere: of the corners in the part fewer are found again, and what is left after one
brightness was laid on the other is larger there than on the bench. Chosen on copies (saved again at quality 20 to 60,
down to a third of the size, brighter, darker, other gamma, sharpened) and on drawn like parts
(`tests/vision/measure_fingerprint.py`): a part that shows nothing but its rings is still taken for the other one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse

_LIKE_BITS = 64
"""A corner found at its place in the other picture is the same one up to so many of 256 bits."""
_SAME_PLACE_PX = 3.0
_LEAST_CORNERS = 20
_LEAST_PX = 200
_BURNT_FROM = 245
_TONE_BIN = 8
_LEAST_IN_BIN = 20
_TONE_CHANGED = 4.0
"""Gray levels, on average: from here on brightness or contrast was changed, which moves highlights and corners."""


@dataclass(frozen=True, slots=True)
class _Limits:
    least_found: float
    """Share of the part's corners that are found again."""
    most_left: float
    """What differs in the part by what differs around it."""


_AS_IT_WAS = _Limits(0.45, 2.6)
_TONE_OTHERWISE = _Limits(0.25, 3.2)


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """One of two pictures of the same frame."""

    small: NDArray[np.uint8]
    """(h, w) gray."""
    points: NDArray[np.floating[Any]]
    """(n, 2) corners as shares of the longer side."""
    bits: NDArray[np.uint8]
    """(n, 32) descriptors."""


def shows_another_part(one: Shot, other: Shot, part: Ellipse) -> bool:
    """Whether the part differs while what is around it does not.

    Parameters
    ----------
    one, other
        Of one frame: nothing is cut, turned or shifted.
    part
        Outline of the part in both; lengths are shares of the longer side.
    """
    known: NDArray[Any] = one.small.astype(np.float32)
    seen: NDArray[Any] = cv2.resize(other.small, known.shape[::-1], interpolation=cv2.INTER_LINEAR).astype(np.float32)
    near = np.ones((5, 5), np.uint8)
    burnt = cv2.dilate((np.maximum(known, seen) >= _BURNT_FROM).astype(np.uint8), near) > 0
    known, seen = (cv2.GaussianBlur(each, (0, 0), 0.7) for each in (known, seen))
    level = _tone_of(known, seen)
    changed = float(np.abs(level - seen).mean()) > _TONE_CHANGED
    limits = _TONE_OTHERWISE if changed else _AS_IT_WAS
    found = _found_again(one, other, part)
    return (found is not None and found < limits.least_found) or _left(known, level, burnt, part) > limits.most_left


def _found_again(one: Shot, other: Shot, part: Ellipse) -> float | None:
    """Share of the corners in the part, of both pictures, that the other has at the same place; None for too few."""
    mine, theirs = _inside(one.points, part), _inside(other.points, part)
    if mine.sum() + theirs.sum() < _LEAST_CORNERS:
        return None
    apart = np.linalg.norm(one.points[:, None] - other.points[None], axis=2)
    a, b = np.nonzero(apart < _SAME_PLACE_PX / 512)
    differs = np.unpackbits(one.bits[a] ^ other.bits[b], axis=1).sum(axis=1)
    a, b = a[differs < _LIKE_BITS], b[differs < _LIKE_BITS]
    again = np.isin(np.flatnonzero(mine), a).sum() + np.isin(np.flatnonzero(theirs), b).sum()
    return float(again / (mine.sum() + theirs.sum()))


def _inside(points: NDArray[np.floating[Any]], part: Ellipse) -> NDArray[np.bool_]:
    turned = (points @ (1, 1j) - complex(part.cx, part.cy)) * np.exp(-1j * np.radians(part.angle_deg))
    return np.asarray((turned.real / part.a) ** 2 + (turned.imag / part.b) ** 2 < 1.06, np.bool_)


def _tone_of(known: NDArray[Any], seen: NDArray[Any]) -> NDArray[np.float32]:
    """The second picture in the brightness of the first: one rising curve for all of it."""
    bins = (seen / _TONE_BIN).astype(int)
    filled = [k for k, count in enumerate(np.bincount(bins.ravel())) if count > _LEAST_IN_BIN]
    if not filled:
        return seen
    level = np.maximum.accumulate([np.median(known[bins == k]) for k in filled])
    return np.asarray(np.interp(seen, [seen[bins == k].mean() for k in filled], level), np.float32)


def _left(known: NDArray[Any], level: NDArray[Any], burnt: NDArray[np.bool_], part: Ellipse) -> float:
    """What differs most in the part by what does so around it; 0 where there is too little of either."""
    height, width = known.shape
    side = max(height, width)
    inside = np.zeros(known.shape, np.uint8)
    centre = (part.cx * side - 0.5, part.cy * side - 0.5)
    cv2.ellipse(inside, (centre, (2.06 * part.a * side, 2.06 * part.b * side), part.angle_deg), 1, -1)
    slope = np.hypot(*(cv2.Sobel(known, cv2.CV_32F, *way, scale=1 / 8) for way in ((1, 0), (0, 1))))
    differs = np.abs(_detail(known) - _detail(level)) / (1 + 0.1 * slope)
    here, around = (inside > 0) & ~burnt, (cv2.dilate(inside, np.ones((5, 5), np.uint8)) == 0) & ~burnt
    if here.sum() < _LEAST_PX:
        return 0.0
    floor = np.percentile(differs[around], 97) if around.sum() >= _LEAST_PX else 1.0
    return float(np.percentile(differs[here], 97) / max(floor, 1.0))


def _detail(of: NDArray[Any]) -> NDArray[np.float32]:
    return np.asarray(of - cv2.GaussianBlur(of, (0, 0), 4.0), np.float32)
