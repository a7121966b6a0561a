"""What the bars of an EAN or UPC say when every digit's drawing is laid over the picture.

The engine takes the first row of a symbol that decodes with a right check digit; on a blurred row one number in ten
decodes so by chance. Here all digits are compared with the picture itself, over several rows: a second look at the
same bars, which decides whether a read is kept. It is no independent witness and confirms nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.codes.retail_bars import digit_drawings, drawing, number_of, places_of_digits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.codes.model import CodeRead

_FINE = 5
"""Samples of a module."""
_QUIET = 7
_AROUND = 3
_ROWS = 3
_LINES_A_ROW = 3
# Ends are looked for this many modules around where the engine saw them.
_SHIFTS = np.arange(-2.0, 2.01, 0.5)
_CLOSER = np.array([-0.25, 0.0, 0.25])
_BENDS = np.array([-0.8, -0.4, 0.0, 0.4, 0.8])
_BLURS = (0.35, 0.6, 0.9, 1.2)
_SPREADS = (-2, -1, 0, 1, 2)
_MOST_PASSES = 4
_WORSE_ROW = 0.08


@dataclass(frozen=True, slots=True)
class BarsSay:
    """The number whose drawing fits the picture best, digit by digit."""

    number: str
    likeness: float
    """Correlation of the whole drawing with the picture, 0-1."""
    margin: float
    """How much worse the least sure digit's next best drawing fits: a share of the contrast squared."""


def what_bars_say(gray: NDArray[np.uint8], code: CodeRead) -> BarsSay | None:
    """Compare the drawing of a retail number with the picture at the code's place.

    Parameters
    ----------
    gray
        The picture that `corners_px` refers to.
    code
        An EAN-13, EAN-8, UPC-A or UPC-E as the engine read it, whatever its check digit.

    Returns
    -------
    BarsSay or None
        ``None`` for another symbology or a code without a place.
    """
    modules = drawing(code.text, code.symbology)
    if modules is None or len(code.corners_px) != 4:
        return None
    rows = _rows(gray, np.asarray(code.corners_px, np.float64), len(modules))
    for _ in range(_MOST_PASSES):
        seen, model = _aligned(rows, modules)
        better, margin = _digits(seen, model, modules, code.symbology)
        if np.array_equal(better, modules):
            break
        modules = better
    number = number_of(modules, code.symbology)
    return None if number is None else BarsSay(number, model.likeness, margin)


@dataclass(frozen=True, slots=True)
class _Model:
    """How the picture blurs and thickens the drawing, found by trying."""

    blur: float
    spread: int
    likeness: float


def _rows(gray: NDArray[np.uint8], corners: NDArray[np.float64], count: int) -> NDArray[np.float32]:
    """Sample rows across the symbol, ``_FINE`` samples a module, with a quiet zone on both sides. Shape (rows, n)."""
    top_left, top_right, bottom_right, bottom_left = corners
    across = np.arange(-(_QUIET + 3) * _FINE, (count + _QUIET + 3) * _FINE) / (count * _FINE) + 0.5 / (count * _FINE)
    height = float(np.linalg.norm(bottom_left - top_left) + np.linalg.norm(bottom_right - top_right)) / 2
    thin = height < 6.0
    down = np.array([0.5]) if thin else np.linspace(0.1, 0.85, _ROWS)
    step = 0.0 if thin else 1.0 / height
    lines = np.concatenate([[v + (k - _LINES_A_ROW // 2) * step for k in range(_LINES_A_ROW)] for v in down])
    left = top_left + lines[:, None] * (bottom_left - top_left)
    right = top_right + lines[:, None] * (bottom_right - top_right)
    points = left[:, None, :] + across[None, :, None] * (right - left)[:, None, :]
    sampled = cv2.remap(
        gray,
        points[..., 0].astype(np.float32),
        points[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    averaged = np.asarray(sampled, np.float32).reshape(len(down), _LINES_A_ROW, -1).mean(axis=1)
    return np.asarray(averaged, np.float32)


def _aligned(rows: NDArray[np.float32], modules: NDArray[np.uint8]) -> tuple[NDArray[np.float32], _Model]:
    """Bring each row into step with the drawing, average them, and find blur and thickness of the bars."""
    rough = _normal(_drawn(modules[None], 0.6, 0)[0])
    steps = np.array([_in_step(row, rough, len(modules)) for row in rows])
    like = steps @ rough / steps.shape[1]
    # The engine's corners are good on the side where it read, and often far off on the other.
    seen = np.asarray(steps[like > like.max() - _WORSE_ROW].mean(axis=0), np.float32)
    tried = [(blur, spread, _drawn(modules[None], blur, spread)[0]) for blur in _BLURS for spread in _SPREADS]
    likeness = np.array([np.dot(_normal(one), _normal(seen)) for _, _, one in tried]) / len(seen)
    best = int(np.argmax(likeness))
    blur, spread, drawn = tried[best]
    # Bright paper and dark bars as the drawing has them: 0 and 1.
    slope, level = np.polyfit(drawn, seen, 1)
    light = slope if abs(slope) > 1e-6 else 1.0
    return ((seen - level) / light).astype(np.float32), _Model(blur, spread, float(likeness[best]))


def _in_step(row: NDArray[np.float32], drawn: NDArray[np.float32], count: int) -> NDArray[np.float32]:
    """Stretch a row so that it correlates best with the drawing: its two ends, then a bend between them."""
    at = (np.arange(-_QUIET * _FINE, (count + _QUIET) * _FINE) + 0.5) / _FINE
    start, end, bend = 0.0, 0.0, 0.0
    for shifts in (_SHIFTS, _CLOSER):
        starts, ends = (grid.ravel() for grid in np.meshgrid(start + shifts, end + shifts))
        # Every second sample is enough to find the ends.
        best = _best(row, drawn[::2], _places(at[::2], count, starts, ends, np.full(len(starts), bend)))
        start, end = float(starts[best]), float(ends[best])
        bends = bend + (_BENDS if shifts is _SHIFTS else _BENDS / 4)
        best = _best(row, drawn, _places(at, count, np.full(5, start), np.full(5, end), bends))
        bend = float(bends[best])
    place = _places(at, count, np.array([start]), np.array([end]), np.array([bend]))[0]
    return _normal(np.interp(place, np.arange(len(row)), row).astype(np.float32))


def _places(
    at: NDArray[np.float64],
    count: int,
    starts: NDArray[np.float64],
    ends: NDArray[np.float64],
    bends: NDArray[np.float64],
) -> NDArray[np.float64]:
    share = at / count
    moved = starts[:, None] * (1 - share) + ends[:, None] * share + 4 * bends[:, None] * share * (1 - share)
    return (at + moved + _QUIET + 3) * _FINE - 0.5


def _best(row: NDArray[np.float32], drawn: NDArray[np.float32], places: NDArray[np.float64]) -> int:
    seen = np.interp(places.ravel(), np.arange(len(row)), row).reshape(places.shape)
    centred = seen - seen.mean(axis=1, keepdims=True)
    return int(np.argmax(centred @ drawn / (np.linalg.norm(centred, axis=1) + 1e-6)))


def _normal(row: NDArray[np.float32]) -> NDArray[np.float32]:
    centred = row - row.mean()
    return np.asarray(centred / (centred.std() + 1e-6), np.float32)


def _drawn(modules: NDArray[np.uint8], blur: float, spread: int) -> NDArray[np.float32]:
    """Draw rows of modules, bars 0 and paper 1, quiet zones added, bars thickened by `spread` samples and blurred."""
    return _blurred(_framed(modules, _QUIET), blur, spread)


def _framed(modules: NDArray[np.uint8], room: int) -> NDArray[np.uint8]:
    """Return rows of modules with paper on both sides (``np.pad`` would cost more than all the rest)."""
    framed = np.zeros((len(modules), modules.shape[1] + 2 * room), np.uint8)
    framed[:, room:-room] = modules
    return framed


def _blurred(modules: NDArray[np.uint8], blur: float, spread: int) -> NDArray[np.float32]:
    bars = np.repeat(modules, _FINE, axis=1)
    kernel = np.ones((1, abs(spread) + 1), np.uint8)
    if spread:
        bars = np.asarray((cv2.dilate if spread > 0 else cv2.erode)(bars, kernel), np.uint8)
    # An even kernel moves everything by half a sample, a tenth of a module: far below what matters.
    reach = int(3 * blur * _FINE) | 1
    soft = cv2.GaussianBlur(1.0 - bars.astype(np.float32), (reach, 1), blur * _FINE, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(soft, np.float32).reshape(bars.shape)


def _digits(
    seen: NDArray[np.float32], model: _Model, modules: NDArray[np.uint8], symbology: str
) -> tuple[NDArray[np.uint8], float]:
    """Choose for every digit the drawing that fits best; return all modules and the smallest margin."""
    chosen, margins = modules.copy(), []
    padded = _framed(modules[None], _AROUND)[0]
    for start, kind in places_of_digits(symbology):
        drawings = digit_drawings(kind)
        width = drawings.shape[1]
        around = np.tile(padded[start : start + width + 2 * _AROUND], (len(drawings), 1))
        around[:, _AROUND : _AROUND + width] = drawings
        drawn = _blurred(around, model.blur, model.spread)[:, (_AROUND - 1) * _FINE : -(_AROUND - 1) * _FINE]
        first = (start + _QUIET - 1) * _FINE
        off = ((drawn - seen[first : first + drawn.shape[1]]) ** 2).sum(axis=1) / (width * _FINE)
        order = np.argsort(off)
        margins.append(float(off[order[1]] - off[order[0]]))
        chosen[start : start + width] = drawings[order[0]]
    return chosen, min(margins)
