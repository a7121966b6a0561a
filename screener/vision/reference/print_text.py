"""Printed text: do the letters have the shapes of the reference, and do they read the same."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.parts.look_alikes import OTHER, distance
from screener.vision.reference.elements import Element, Rect, letters_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.reference.layout import Standing
    from screener.vision.reference.light import Matched
    from screener.vision.text_engine import TextEngine

LEAST_LETTER_PX = 11.0
"""Height of a line in the photo's own pixels below which letter shapes are not judged."""
_WINDOW = 1.25
"""Width of a window along a line, by the line's height: two or three letters."""
_LEAST_UNLIKE = 0.12
_PLAINLY_UNLIKE = 0.42
_SOFT_UNLIKE = 0.035
_WHOLE_LINE, _LEAST_WINDOWS = 0.028, 4
"""How much less alike than the photo's other print all windows of a line are in the middle where its letters have other
shapes; drawn good photos reach 0.012."""
_SURE_READ = 0.9
_MORE_ROOM = 0.12
_MOST_OF_IT = 0.85
_ALIKE = str.maketrans("0QD1LJ|5826G", "OOOIIIISBZOO")


@dataclass(frozen=True, slots=True)
class LineShape:
    """How unlike the reference a line looks, window by window."""

    element: Element
    windows: tuple[Rect, ...]
    unlike: tuple[float, ...]
    """0 as the reference, 1 nothing in common; noise and blur already allowed for."""
    letter_px: float
    """Height of the line in the photo, px."""
    read_place: Rect
    """Where the line is read in the photo: its own place, and where it moved to."""


@dataclass(frozen=True, slots=True)
class TextVerdict:
    """A line that differs."""

    element: Element
    place: Rect
    kind: str
    """misspelt (surely reads a letter or two otherwise), text (otherwise printed) or shapes (reads the same)."""
    read: str
    """What the photo reads there."""
    unlike: float
    threshold: float
    reads_otherwise: bool = False
    """The photo surely reads other letters."""


def line_shapes(standing: Sequence[Standing], matched: Matched, scale: float) -> tuple[LineShape, ...]:
    """Compare the letters of each line of text, in windows along the line.

    Parameters
    ----------
    standing
        Elements as they stand; lines are compared at their own place, places free to differ are left out.
    matched
        Reference and photo in one light.
    scale
        Photo px per frame px.
    """
    lines = [s for s in standing if s.element.kind == "text"]
    return tuple(shape for s in lines if (shape := _line_shape(s, matched, scale)) is not None)


def _line_shape(s: Standing, matched: Matched, scale: float) -> LineShape | None:
    element, place = s.element, s.element.place
    thick = place.width if element.across else place.height
    if thick * scale < LEAST_LETTER_PX * 1.4:
        return None
    windows, unlike = [], []
    for window in _windows(element):
        if any(window.overlap(part) > 0.02 for part in element.free):
            continue
        away = _unlike(window, matched)
        if away is not None:
            windows.append(window)
            unlike.append(away)
    read_place = _around([place, place.moved(s.dx, s.dy)]) if s.state == "moved" else place
    return LineShape(element, tuple(windows), tuple(unlike), thick * scale / 1.4, read_place)


def _windows(element: Element) -> list[Rect]:
    place = element.place
    long, thick = (place.height, place.width) if element.across else (place.width, place.height)
    size = min(long, round(_WINDOW * thick))
    count = max(1, -(-2 * (long - size) // size) + 1)
    starts = [round(i * (long - size) / max(1, count - 1)) for i in range(count)]
    if element.across:
        return [Rect(place.left, place.top + s, place.right, place.top + s + size) for s in starts]
    return [Rect(place.left + s, place.top, place.left + s + size, place.bottom) for s in starts]


def _unlike(window: Rect, matched: Matched) -> float | None:
    height, width = matched.expected.shape
    window = _clear_of_rim(window, matched.judged)
    if window.height < 4 or window.width < 4 or not window.cut(matched.judged).all():
        return None
    template = np.ascontiguousarray(window.cut(matched.expected), np.float32)
    spread = float(template.std())
    if spread < max(8.0, 3 * matched.noise):
        return None
    reach = max(2, round(0.003 * max(height, width)))
    wide = window.grown(reach, (width, height))
    around = np.ascontiguousarray(wide.cut(matched.seen), np.float32)
    best = float(cv2.matchTemplate(around, template, cv2.TM_CCOEFF_NORMED).max())
    # Noise alone lowers the correlation to this.
    possible = 1 / np.sqrt(1 + (matched.noise / spread) ** 2)
    return float(np.clip(1 - best / possible, 0, 1))


def _clear_of_rim(window: Rect, judged: NDArray[np.bool_]) -> Rect:
    """A window without the few rows and columns at its sides that are not judged: outlines are generous."""
    inside = window.cut(judged)
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    if len(rows) < _MOST_OF_IT * window.height or len(columns) < _MOST_OF_IT * window.width:
        return window
    top, left = window.top + int(rows[0]), window.left + int(columns[0])
    return Rect(left, top, left + len(columns), top + len(rows))


def usual_unlikeness(shapes: Sequence[LineShape]) -> float:
    """The level of unlikeness that most windows of this photo have anyway, plus its spread: the photo's own quality."""
    every = np.array([u for s in shapes for u in s.unlike])
    if every.size < 6:
        return _LEAST_UNLIKE
    middle = float(np.median(every))
    spread = 1.4826 * float(np.median(np.abs(every - middle)))
    return min(_PLAINLY_UNLIKE, max(_LEAST_UNLIKE, middle + 7 * spread))


def differing_text(
    shapes: Sequence[LineShape], photo: NDArray[np.uint8], engine: TextEngine | None, *, even_print: bool = True
) -> tuple[TextVerdict, ...]:
    """Tell which lines differ: in letters read, or in letter shapes though they read the same.

    Parameters
    ----------
    photo
        The photo laid on the frame, (H, W, 3) uint8.
    even_print
        The print is not dotted or blurred: then a line that is a little unlike all along has other letters.
    """
    threshold = usual_unlikeness(shapes)
    middle = float(np.median([u for s in shapes for u in s.unlike] or [0.0]))
    reads = _read(shapes, photo, engine)
    verdicts = []
    for shape, (read, score) in zip(shapes, reads, strict=True):
        worst = max(shape.unlike, default=0.0)
        other = _reads_otherwise(shape.element, read, score)
        soft = even_print and _unlike_all_along(shape, middle)
        if worst < threshold and not soft and not (other and worst > max(_SOFT_UNLIKE, 0.3 * threshold)):
            continue
        bad = [w for w, u in zip(shape.windows, shape.unlike, strict=True) if u >= min(threshold, 0.8 * worst)]
        place = _around(bad)
        share = len(bad) / max(1, len(shape.windows))
        same = not other and bool(read) and letters_of(read) == letters_of(shape.element.text)
        near = other and _few_letters_apart(read, shape.element.text)
        kind = "misspelt" if near else "shapes" if same or (share > 0.6 and not other) else "text"
        verdicts.append(TextVerdict(shape.element, place, kind, read, worst, min(threshold, worst), other))
    return tuple(verdicts)


def _unlike_all_along(shape: LineShape, middle: float) -> bool:
    return len(shape.unlike) >= _LEAST_WINDOWS and float(np.median(shape.unlike)) - middle > _WHOLE_LINE


def _read(shapes: Sequence[LineShape], photo: NDArray[np.uint8], engine: TextEngine | None) -> list[tuple[str, float]]:
    if engine is None or not shapes:
        return [("", 0.0)] * len(shapes)
    crops = []
    for shape in shapes:
        crop = shape.read_place.grown(3, (photo.shape[1], photo.shape[0])).cut(photo)
        crops.append(np.ascontiguousarray(np.rot90(crop, 3) if shape.element.across else crop).astype(np.uint8))
    reads = [(text.strip(), score) for text, score in engine.recognise(crops)]
    return [_with_its_ends(s, r, photo, engine) for s, r in zip(shapes, reads, strict=True)]


def _with_its_ends(
    shape: LineShape, read: tuple[str, float], photo: NDArray[np.uint8], engine: TextEngine
) -> tuple[str, float]:
    """Read a line again with more room if letters seem to lack: one that is printed wider runs beyond its place."""
    meant, seen, place = letters_of(shape.element.text), letters_of(read[0]), shape.read_place
    if shape.element.across or len(seen) >= len(meant) or len(seen) < len(meant) / 2:
        return read
    more = round(_MORE_ROOM * place.width)
    wide = Rect(max(0, place.left - more), place.top, min(photo.shape[1], place.right + more), place.bottom)
    crop = np.ascontiguousarray(wide.grown(3, (photo.shape[1], photo.shape[0])).cut(photo)).astype(np.uint8)
    text, score = engine.recognise([crop])[0]
    return (text.strip(), score) if letters_of(text) == meant else read


def _reads_otherwise(element: Element, read: str, score: float) -> bool:
    """Whether the photo surely reads other letters; letters that readers mix up do not count."""
    if score < _SURE_READ or element.score < _SURE_READ or element.across:
        return False
    one, two = letters_of(element.text), letters_of(read)
    return bool(one) and one != two and one.translate(_ALIKE) != two.translate(_ALIKE)


def _few_letters_apart(read: str, meant: str) -> bool:
    one, two = letters_of(read), letters_of(meant)
    limit = 2 * OTHER
    return len(two) > 3 and distance(one, two, limit) <= limit


def _around(rects: Sequence[Rect]) -> Rect:
    return Rect(
        min(r.left for r in rects), min(r.top for r in rects), max(r.right for r in rects), max(r.bottom for r in rects)
    )
