"""Marks beside a reference ring: letter shapes and spacing of the words that both rings carry, on the unwrapped face.

The two strips are aligned word by word: by what was read on both, then by correlation. Where letters are faint, small
or burnt out nothing is judged: metal looks different in every light.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.marks.face_strip import FaceStrip, straighten_face
from screener.vision.reference.elements import letters_of
from screener.vision.reference.letter_shapes import MOST_STRETCH, fit_word
from screener.vision.reference.model import Compared, Difference

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse, Mark, Point

LEAST_LETTERS = 4
LEAST_P = 0.6
LEAST_HEIGHT_PX = 13.0
"""Height of the letters in either photo below which shapes are not judged."""
_HEIGHT_ROWS = 40
_AROUND_LETTERS = 1.3
"""Height of a mark's outline by that of its capitals."""


@dataclass(frozen=True, eq=False)
class Ring:
    """A marked face: the photo's grey (H, W) uint8, its circles, and what was read on it."""

    gray: NDArray[np.uint8]
    outer: Ellipse
    bore: Ellipse | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class WordVerdict:
    """One word that both rings carry."""

    text: str
    correlation: float
    """Of the whole word, at the best stretch and place."""
    least: float
    """Of the least alike letter or so."""
    least_alike: float
    """What `least` has to reach in photos like these."""
    stretch: float
    """Length of the word by that of the reference's, both by the outer radius."""
    differs: bool
    region_px: tuple[Point, ...]
    reference_region_px: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class RingsCompared:
    """The words compared; without any, why nothing is concluded."""

    words: tuple[WordVerdict, ...] = ()
    problem: str = ""


def compare_rings(reference: Ring, new: Ring) -> RingsCompared:
    """Compare the words that were read on both rings."""
    pairs = [(a, b) for a in _words(reference) for b in _words(new) if letters_of(a.text) == letters_of(b.text)]
    if not pairs:
        return RingsCompared(problem="no word was read surely enough on both rings.")
    one, two = (straighten_face(r.gray, r.outer, r.bore) for r in (reference, new))
    verdicts = [v for a, b in pairs if (v := _verdict(a, b, one, two)) is not None]
    if not verdicts:
        return RingsCompared(problem="the letters are too small, too faint or burnt out to compare their shapes.")
    return RingsCompared(tuple(verdicts))


def rings_as_compared(rings: RingsCompared) -> Compared:
    """The same in the form that all comparisons have; a ring has no frame, so outlines are given in the photos only."""
    likeness = max((w.correlation for w in rings.words), default=0.0)
    return Compared(None, rings.problem, tuple(_told(w) for w in rings.words if w.differs), likeness=likeness)


def _told(word: WordVerdict) -> Difference:
    spacing = word.least >= word.least_alike
    size = abs(word.stretch - 1) if spacing else 1 - word.least
    what = f"is {word.stretch:.2f} times as long as on" if spacing else "has other letter shapes than on"
    return Difference(
        kind="mark_shapes_differ",
        says=f"The word “{word.text}” in the mark {what} the reference ring.",
        outline_frame_px=(),
        outline_photo_px=word.region_px,
        outline_reference_px=word.reference_region_px,
        size=round(size, 3),
        unit="times" if spacing else "correlation",
        significance=round(size / (MOST_STRETCH - 1 if spacing else 1 - word.least_alike), 2),
        ordinary_causes=("another plant or marking machine", "another size of ring", "another year"),
    )


def _words(ring: Ring) -> list[Mark]:
    sure = [m for m in ring.marks if m.p >= LEAST_P and m.region_px]
    return [m for m in sure if len(letters_of(m.text)) >= LEAST_LETTERS]


def _verdict(a: Mark, b: Mark, one: FaceStrip, two: FaceStrip) -> WordVerdict | None:
    here, there = _on_strip(a, one), _on_strip(b, two)
    if here is None or there is None:
        return None
    letters_px = min((r[3] - r[2]) * s.photo_px_per_row for r, s in ((here, one), (there, two))) / _AROUND_LETTERS
    if letters_px < LEAST_HEIGHT_PX:
        return None
    if any(s.burnt_share(*r) > 0.15 for r, s in ((here, one), (there, two))):
        return None
    # Both strips have the outer radius in the same number of rows: one factor for both keeps the letters' true sizes.
    factor = _HEIGHT_ROWS / (here[3] - here[2])
    known, seen = _letters(one, here, factor, margin=0.0), _letters(two, there, factor, margin=0.45)
    if min(float(np.percentile(np.abs(g), 85)) for g in (known, seen)) < 0.5:
        return None
    fit = fit_word(known, seen, len(letters_of(a.text)))
    if fit is None:
        return None
    differs = fit.other_shapes(letters_px) or fit.other_length
    return WordVerdict(
        text=a.text,
        correlation=round(fit.correlation, 3),
        least=round(fit.least, 3),
        least_alike=round(fit.least_alike(letters_px), 3),
        stretch=round(fit.stretch, 3),
        differs=differs,
        region_px=b.region_px,
        reference_region_px=a.region_px,
    )


def _on_strip(mark: Mark, strip: FaceStrip) -> tuple[float, float, float, float] | None:
    """Columns and rows (x0, x1, y0, y1) of a mark's outline on a strip; columns may run beyond its end."""
    rows, columns = strip.levels.shape
    x, y = np.meshgrid(np.arange(0, columns, 4), np.arange(0, rows, 4))
    px, py = strip.geometry.photo_points(x.ravel(), y.ravel())
    corners = np.array(mark.region_px)
    nearest = [int(np.argmin((px - cx) ** 2 + (py - cy) ** 2)) for cx, cy in corners]
    xs = np.sort(x.ravel()[nearest].astype(float))
    ys = y.ravel()[nearest].astype(float)
    # The longest gap between columns lies outside the word: begin after it.
    gaps = np.diff(np.append(xs, xs[0] + columns))
    start = int((gaps.argmax() + 1) % len(xs))
    x0 = xs[start]
    length = columns - gaps.max()
    if length < 8 or ys.max() - ys.min() < 4:
        return None
    return x0, x0 + length, ys.min(), ys.max() + 1


def _letters(
    strip: FaceStrip, place: tuple[float, float, float, float], factor: float, margin: float
) -> NDArray[np.float32]:
    """The word evenly lit, scaled by a factor, with a margin (shares of its height)."""
    x0, x1, y0, y1 = place
    pad = margin * (y1 - y0)
    crop = strip.cut_evenly_lit(x0 - pad, x1 + pad, y0 - pad, y1 + pad)
    sized = cv2.resize(
        crop, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA if factor < 1 else cv2.INTER_LINEAR
    )
    return np.asarray(cv2.GaussianBlur(sized, (0, 0), 1.2), np.float32)
