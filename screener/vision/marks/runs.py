"""Where on the straightened face text stands: few places, found cheaply, so that few have to be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.marks.evenness import CAPITALS_OF_RUN
from screener.vision.marks.face_strip import FaceStrip, around
from screener.vision.marks.text_finder import TextPlace, find_texts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

_MARGIN = 320
_WINDOW = (45, 9)
_STANDS_OUT = (2.2, 3.6, 6.0)
"""Levels of stroke energy, by what is usual on a row, above which stretches are sought."""
MOST_RUNS = 16
_TEXT_LONG = 2.5
_SAME_RUN = 0.5
_JOIN_PX = 55
_LEAST_HEIGHT, _MOST_HEIGHT = 14, 80
_LEAST_WIDTH, _MOST_WIDTH = 24, 620
_LEAST_SHARE = 0.1
_SAME_LINE = 0.6
_WORD_GAP = 1.8
A_PIECE = 0.6
"""From this share of a run inside another on it is a piece of it."""
_MORE_THAN_SEEN = 3
"""Where the network has seen text, so many other runs are read: each takes time, and hardly one is text."""
_SEEN_ROOM = 0.3
"""So much of the capitals' height a run goes beyond the places that the network has seen."""
_PLAIN, _AROUND, _SAME_PLACE = 12.0, 0.35, 0.7
"""From this strength on the strokes say better where a text ends: sought so far above and below it, in half heights,
and taken where the two have this much in common."""


@dataclass(frozen=True, slots=True)
class TextRun:
    """A stretch of the strip that looks like text. Columns may exceed the strip's width (they wrap)."""

    x0: float
    x1: float
    y0: float
    y1: float
    strength: float
    """Stroke energy as a multiple of what is usual on its rows."""
    polarity: int
    """+1 for letters lighter than their ground, -1 for darker ones."""

    @property
    def height(self) -> float:
        """Height of the capitals in rows."""
        return self.y1 - self.y0


def find_runs(
    strip: FaceStrip, *, seen: Sequence[TextPlace] | None = None, at_most: int = MOST_RUNS
) -> tuple[TextRun, ...]:
    """Find stretches that look like text: those the network has seen first, then what stands out by its strokes.

    ``seen``: what `find_texts` says of the strip, where it was asked already.
    """
    ratio = _stroke_ratio(strip.levels)
    turn = ratio.shape[1]
    texts = [_run_of(strip, ratio, place) for place in (find_texts(strip.shade) if seen is None else seen)]
    others = [run for run in _by_strokes(strip, ratio, at_most) if not any(_same(run, each, turn) for each in texts)]
    return (*texts, *others[: _MORE_THAN_SEEN if texts else at_most])[:at_most]


def _by_strokes(strip: FaceStrip, ratio: NDArray[np.float32], at_most: int) -> list[TextRun]:
    """Stretches with far more upright strokes than the rest of their rows, strongest first.

    Balls, cage and brushing repeat all around their rows and so do not stand out. What grows together at a low level,
    a text and the ball below it, comes apart at a higher one.
    """
    columns = ratio.shape[1]
    wide = around(ratio, columns)
    runs = sorted(
        (run for level in _STANDS_OUT for run in _runs_above(strip, ratio, wide > level)), key=lambda run: -_weight(run)
    )
    kept = _apart(_joined(_apart(runs, columns)[: 2 * at_most], columns), columns)
    kept.sort(key=lambda run: -_weight(run))
    return [run for run in kept[:at_most] if _weight(run) > _LEAST_SHARE * _weight(kept[0])]


def _same(run: TextRun, seen: TextRun, turn: int) -> bool:
    """Whether strokes that stand out are a text, or a piece of one, that the network has seen."""
    return _overlap(run, seen, turn) >= _SAME_RUN or share_inside(run, seen, turn) > A_PIECE


def _run_of(strip: FaceStrip, ratio: NDArray[np.float32], place: TextPlace) -> TextRun:
    """The run where the network has seen a text, its edges where the strokes end if these stand out."""
    half, room = 0.5 * place.capitals / CAPITALS_OF_RUN, _SEEN_ROOM * place.capitals
    y0, y1, x0, x1 = place.middle - half, place.middle + half, place.x0 - room, place.x1 + room
    top, bottom = max(0, round(y0 - _AROUND * half)), min(ratio.shape[0], round(y1 + _AROUND * half))
    first = min(max(0, round(y0)), ratio.shape[0] - 1)
    inside = ratio[first : max(first + 1, round(y1))][:, np.arange(round(x0), round(x1)) % ratio.shape[1]]
    seen = TextRun(x0, x1, y0, y1, float(inside.mean()), _polarity(strip, x0, x1, y0, y1))
    if seen.strength < _PLAIN or bottom <= top:
        return seen
    fitted = _fit(strip, ratio, round(x0 - room), round(x1 + room), top, bottom)
    return fitted if fitted is not None and _overlap(fitted, seen, ratio.shape[1]) > _SAME_PLACE else seen


def _polarity(strip: FaceStrip, x0: float, x1: float, y0: float, y1: float) -> int:
    return 1 if float((strip.cut(x0, x1, y0, y1) ** 3).sum()) > 0 else -1


def _runs_above(strip: FaceStrip, ratio: NDArray[np.float32], above: NDArray[np.bool_]) -> list[TextRun]:
    """Runs where ``above`` holds: three turns of the strip, the middle one counts."""
    columns = ratio.shape[1]
    mask = cv2.morphologyEx(above.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((1, _JOIN_PX), np.uint8)).astype(np.uint8)
    _, _, boxes, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    runs = []
    for left, top, width, height, _area in boxes[1:]:
        x0 = left - columns
        if not (0 <= x0 < columns and _LEAST_WIDTH <= width <= _MOST_WIDTH and height >= _LEAST_HEIGHT):
            continue
        run = _fit(strip, ratio, x0, x0 + width, top, top + height)
        if run is not None:
            runs.append(run)
    return runs


def _apart(runs: Sequence[TextRun], turn: int) -> list[TextRun]:
    """Leave out what a run before it already holds."""
    kept: list[TextRun] = []
    for run in runs:
        if all(_overlap(run, other, turn) < _SAME_RUN for other in kept):
            kept.append(run)
    return kept


def _overlap(a: TextRun, b: TextRun, turn: int) -> float:
    """Common area of two runs by that of both."""
    common = _common(a, b, turn)
    return common / (_area(a) + _area(b) - common)


def share_inside(a: TextRun, b: TextRun, turn: int) -> float:
    """Share of a run that lies within another; ``turn``: columns of the strip."""
    return _common(a, b, turn) / _area(a)


def _common(a: TextRun, b: TextRun, turn: int) -> float:
    wide = max(min(a.x1, b.x1 + shift) - max(a.x0, b.x0 + shift) for shift in (-turn, 0, turn))
    return max(0.0, wide) * max(0.0, min(a.y1, b.y1) - max(a.y0, b.y0))


def _area(run: TextRun) -> float:
    return (run.x1 - run.x0) * run.height


def _weight(run: TextRun) -> float:
    """How much a stretch speaks for text: a glint on a ball is as strong, but no longer than it is high."""
    long = run.x1 - run.x0
    return run.strength * min(1.0, long / 60) * min(1.0, long / (_TEXT_LONG * run.height))


def _joined(runs: Sequence[TextRun], turn: int) -> list[TextRun]:
    """Join words of one text: a number and its suffix may stand two letters apart."""
    joined = list(runs)
    while True:
        pairs = ((a, b, shift) for a in joined for b in joined for shift in (0, turn) if _continues(a, b, shift))
        pair = next(pairs, None)
        if pair is None:
            return joined
        a, b, shift = pair
        joined = [run for run in joined if run is not a and run is not b] + [_both(a, b, shift)]


def _continues(a: TextRun, b: TextRun, shift: int) -> bool:
    """Whether b (moved on by so many columns) goes on where a ends, on the same line and as high."""
    taller, lower = max(a.height, b.height), min(a.height, b.height)
    in_line = min(a.y1, b.y1) - max(a.y0, b.y0) > _SAME_LINE * taller
    alike = lower > _SAME_LINE * taller and min(a.strength, b.strength) > 0.3 * max(a.strength, b.strength)
    near = -0.5 * lower < b.x0 + shift - a.x1 < _WORD_GAP * taller
    return a is not b and in_line and alike and near and b.x1 + shift - a.x0 < _MOST_WIDTH


def _both(a: TextRun, b: TextRun, shift: int) -> TextRun:
    share = (a.x1 - a.x0) / (a.x1 - a.x0 + b.x1 - b.x0)
    wide = a if share > 0.5 else b
    y0, y1, strength = (
        share * first + (1 - share) * second for first, second in ((a.y0, b.y0), (a.y1, b.y1), (a.strength, b.strength))
    )
    return TextRun(a.x0, b.x1 + shift, y0, y1, strength, wide.polarity)


def _stroke_ratio(levels: NDArray[np.float32]) -> NDArray[np.float32]:
    wide = around(levels, _MARGIN)
    # Slopes along the circle: strokes have them, brushing and edges that wave along the strip hardly do.
    slope = cv2.Sobel(cv2.GaussianBlur(wide, (0, 0), 1.6), cv2.CV_32F, 1, 0, ksize=3)
    energy = cv2.blur(np.minimum(slope * slope, np.float32(4.0)), _WINDOW)[:, _MARGIN:-_MARGIN]
    # Text may cover half of its rows, so what is usual there is taken from below the median.
    usual = np.percentile(energy, 40, axis=1, keepdims=True) * 1.05
    usual = cv2.blur(np.maximum(usual, np.percentile(usual, 20)), (1, 5)).reshape(-1, 1)
    return np.asarray(energy / (usual + 1e-3), np.float32)


def _fit(strip: FaceStrip, ratio: NDArray[np.float32], x0: int, x1: int, top: int, bottom: int) -> TextRun | None:
    """Tighten a rough box on its text."""
    columns = np.arange(x0, x1) % ratio.shape[1]
    rows = ratio[top:bottom][:, columns].mean(axis=1)
    y0, y1 = _above(rows, 0.4)
    y0, y1 = top + y0, top + y1
    if not _LEAST_HEIGHT <= y1 - y0 <= _MOST_HEIGHT:
        return None
    first, last = _above(ratio[y0:y1][:, columns].mean(axis=0), 0.25)
    x0, x1, columns = x0 + first, x0 + last, columns[first:last]
    strength = float(ratio[y0:y1][:, columns].mean())
    return TextRun(x0, x1, y0, y1, strength, _polarity(strip, x0, x1, y0, y1))


def _above(profile: NDArray[np.float32], share: float) -> tuple[int, int]:
    """First and one past the last place where a profile exceeds a share of its (nearly) highest value."""
    above = np.flatnonzero(profile > share * np.percentile(profile, 95))
    return int(above[0]), int(above[-1]) + 1
