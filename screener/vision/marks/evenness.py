"""How evenly a mark is made: spacing, baseline, stroke width and contrast, letter against letter of one text.

One process makes all letters of a mark alike; what varies is measured within the mark itself, so that lamp, camera and
typeface count for little. It is judged only where every letter was found apart and is high enough.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.marks.upright import cut_upright
from screener.vision.model import MarkEvenness, Measured

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.marks.face_strip import FaceStrip
    from screener.vision.marks.runs import TextRun

LEAST_CAPITALS_PX = 14.0
"""Lower letters in the photo are not judged: a stroke is then two pixels wide."""
CAPITALS_OF_RUN = 0.9
"""Capitals by the height of the run found around them: blur and serifs widen it (median of drawn faces)."""
LEAST_LETTERS = 4
MOST_PX = 64
_WHOLE_HEIGHT = 0.72
"""From this share of the capitals' height a sign is a letter that stands on the line."""
_NOT_ON_LINE = frozenset("-/.,×=+ QJ")
_WORD_GAP = 0.55
_TWO_LETTERS, _MOST_TOUCHING = 1.1, 2
_BESIDE = 0.6
"""Room about the text that is looked at, in heights of its run."""
_EDGE_PX = 0.3
"""How well the end of a letter is placed in the photo, in pixels."""


@dataclass(frozen=True, slots=True)
class _Letter:
    sign: str
    left: float
    right: float
    top: float
    bottom: float
    stroke: float
    contrast: float

    @property
    def middle(self) -> float:
        return 0.5 * (self.top + self.bottom)


def judge_evenness(
    gray: NDArray[np.uint8], strip: FaceStrip, run: TextRun, text: str, *, outward: bool
) -> MarkEvenness | None:
    """Measure one run of text; ``None`` where its letters are too low or were not all found apart.

    Parameters
    ----------
    gray
        (H, W) uint8, the photo.
    strip, run
        The straightened face and where on it the text stands.
    text
        What it says, to know which signs stand on the line.
    outward
        Whether the tops of the letters point away from the centre.
    """
    capitals_px = run.height * strip.photo_px_per_row
    if CAPITALS_OF_RUN * capitals_px < LEAST_CAPITALS_PX:
        return None
    height = int(np.clip(round(capitals_px), 20, MOST_PX))
    cut = cut_upright(gray, strip, run, height, outward=outward, above=_BESIDE, beside=_BESIDE)
    letters = _letters(cut.astype(np.float32), text, height)
    upright = [letter for letter in letters if len(letter.sign) == 1 and letter.sign not in _NOT_ON_LINE]
    if len(upright) < LEAST_LETTERS:
        return None
    high = float(np.median([letter.bottom - letter.top for letter in upright]))
    blur = _EDGE_PX * height / capitals_px / high
    return MarkEvenness(
        text=text,
        letters=len(upright),
        spacing=_spacing(letters, high, blur),
        baseline=_baseline(upright, high, blur),
        stroke=_scatter([letter.stroke for letter in upright], [letter.left for letter in upright], blur * high),
        contrast=_scatter([letter.contrast for letter in upright], [letter.left for letter in upright], 0.02),
    )


def _ink(cut: NDArray[np.float32], polarity: int, height: int) -> NDArray[np.float32]:
    """How far each pixel departs from the ground under the letters, as a share of that ground."""
    soft = cv2.GaussianBlur(cut, (0, 0), 0.6)
    side = 2 * round(0.3 * height) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    shape = cv2.MORPH_OPEN if polarity > 0 else cv2.MORPH_CLOSE
    ground = cv2.GaussianBlur(cv2.morphologyEx(soft, shape, kernel), (0, 0), 0.3 * height)
    return np.asarray(polarity * (soft - ground) / np.maximum(ground, 20.0), np.float32)


def _letters(cut: NDArray[np.float32], text: str, height: int) -> list[_Letter]:
    """The letters in order, dark or light; none at all if they are not as many as the text has."""
    for polarity in (1, -1):
        ink = _ink(cut, polarity, height)
        boxes = _boxes(ink, height)
        signs = _signs([right - left for left, right, _, _ in boxes], text, height)
        if not signs:
            continue
        found = [_letter(ink, box, sign, height) for box, sign in zip(boxes, signs, strict=True)]
        whole = [letter for letter in found if letter is not None]
        if len(whole) == len(found):
            return whole
    return []


def _signs(widths: Sequence[int], text: str, height: int) -> list[str]:
    """Which sign each box holds; two letters that touch share a wide box, which is then no letter to compare."""
    signs = [sign for sign in text if sign != " "]
    short = len(signs) - len(widths)
    if not 0 <= short <= _MOST_TOUCHING:
        return []
    wide = sorted(range(len(widths)), key=lambda i: -widths[i])[:short]
    if any(widths[i] < _TWO_LETTERS * height for i in wide):
        return []
    left = iter(signs)
    return [next(left) + (next(left) if i in wide else "") for i in range(len(widths))]


def _boxes(ink: NDArray[np.float32], height: int) -> list[tuple[int, int, int, int]]:
    """Left, right, top, bottom of each sign."""
    # Edges of the ring above and below the text are no letters, however strong.
    far = abs(np.arange(ink.shape[0]) - ink.shape[0] / 2) > 0.7 * height
    ink = np.where(far[:, None], np.float32(0.0), ink)
    strong = float(np.percentile(ink[~far], 95))
    noise = 1.5 * float(np.median(np.abs(ink - np.median(ink))))
    mask = (ink > max(0.3 * strong, 3 * noise)).astype(np.uint8)
    _, _, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=8)
    middle = ink.shape[0] / 2
    parts = [
        (int(left), int(left + wide), int(top), int(top + tall))
        for (left, top, wide, tall, area), (_, y) in zip(stats[1:], centres[1:], strict=True)
        if area > 0.012 * height * height and abs(y - middle) < 0.6 * height and tall < 1.5 * height
    ]
    return _merged(sorted(parts))


def _merged(parts: list[tuple[int, int, int, int]]) -> list[tuple[int, int, int, int]]:
    """Join what stands one above the other: pieces of one broken letter."""
    boxes: list[tuple[int, int, int, int]] = []
    for left, right, top, bottom in parts:
        if boxes and boxes[-1][1] - left > 0.4 * min(right - left, boxes[-1][1] - boxes[-1][0]):
            last = boxes[-1]
            boxes[-1] = (last[0], max(last[1], right), min(last[2], top), max(last[3], bottom))
        else:
            boxes.append((left, right, top, bottom))
    return boxes


def _letter(ink: NDArray[np.float32], box: tuple[int, int, int, int], sign: str, height: int) -> _Letter | None:
    left, right, top, bottom = box
    if sign not in _NOT_ON_LINE and not _WHOLE_HEIGHT * height < bottom - top < 1.35 * height:
        return None
    x0, y0 = max(0, left - 2), max(0, top - 2)
    own = ink[y0 : bottom + 2, x0 : right + 2]
    full = float(np.percentile(own[own > 0.5 * own.max()], 60))
    level = np.clip(own / full, 0.0, 1.0)
    rows, columns = level.max(axis=1), level.max(axis=0)
    contours, _ = cv2.findContours((level > 0.5).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    around = sum(cv2.arcLength(contour, closed=True) for contour in contours)
    area = float((level > 0.5).sum()) + 0.5 * around
    first_row, last_row = _half(rows)
    first, last = _half(columns)
    stroke = 2.0 * area / max(around, 1.0)
    return _Letter(sign, x0 + first, x0 + last, y0 + first_row, y0 + last_row, stroke, full)


def _half(profile: NDArray[np.float32]) -> tuple[float, float]:
    """Where a profile first and last passes one half, between its samples."""
    above = np.flatnonzero(profile >= 0.5)
    first, last = int(above[0]), int(above[-1])
    start = first - (profile[first] - 0.5) / (profile[first] - profile[first - 1]) if first > 0 else float(first)
    end = last + (profile[last] - 0.5) / (profile[last] - profile[last + 1]) if last + 1 < len(profile) else float(last)
    return float(start), float(end)


def _spacing(letters: Sequence[_Letter], high: float, blur: float) -> Measured | None:
    """Spread of the gaps between neighbours of one word, as a share of the height."""
    gaps = [
        (b.left - a.right) / high
        for a, b in pairwise(letters)
        if not {a.sign, b.sign} & _NOT_ON_LINE and (b.left - a.right) / high < _WORD_GAP
    ]
    if len(gaps) < LEAST_LETTERS - 1:
        return None
    value = float(np.std(gaps, ddof=1))
    return Measured(value, _u_of_spread(value, math.sqrt(2) * blur, len(gaps)))


def _baseline(letters: Sequence[_Letter], high: float, blur: float) -> Measured:
    """Spread of the letters' middles about a smooth line, as a share of the height.

    Round letters reach beyond the line at both ends, so their middle stays; what bends evenly is the ring's fit.
    """
    x, y = np.array([(0.5 * (a.left + a.right), a.middle) for a in letters]).T / high
    value = _about_smooth_line(x, y)
    return Measured(value, _u_of_spread(value, blur / math.sqrt(2), len(letters)))


def _scatter(values: Sequence[float], places: Sequence[float], u_each: float) -> Measured:
    """Relative spread about a smooth course along the text (the lamp's share is smooth)."""
    mean = float(np.mean(values))
    value = _about_smooth_line(np.array(places) / (places[-1] - places[0] + 1e-9), np.array(values) / mean)
    return Measured(value, _u_of_spread(value, u_each / mean, len(values)))


def _about_smooth_line(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    degree = 2 if len(x) >= LEAST_LETTERS + 2 else 1
    rest = y - np.polyval(np.polyfit(x, y, degree), x)
    return float(math.sqrt((rest**2).sum() / (len(x) - degree - 1)))


def _u_of_spread(value: float, u_each: float, n: int) -> float:
    """Standard uncertainty of a standard deviation of n numbers, each uncertain by ``u_each``."""
    return math.hypot(value / math.sqrt(2 * (n - 1)), u_each / math.sqrt(n))
