"""One word laid over another: how long it is by the other, and how alike its letters are, window by window.

A whole word hides what one letter shows: another type face shares most strokes. So the word is laid whole first, then
each window of a letter or so is laid for itself, and the least alike window speaks.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

WINDOW_LETTERS = 1.3
"""Width of a window; they follow each other by half a letter."""
LEAST_ALIKE = 0.905
"""Correlation of the least alike window below which letters have other shapes. Drawn rings and words of one type face
reach 0.92 and more under the light and noise of a good photo (`tests/vision/reference/measure_marks.py`)."""
_PER_BLUR = 0.11
"""Taken off for each pixel of blur between the two (at 40 rows) beyond `_FREE_BLUR_PX`: soft letters are alike less
surely."""
_FREE_BLUR_PX = 0.8
_SMALL_PX, _FOR_SMALL = 20.0, 0.035
"""Height of the letters in the photo below which, and by how much, less is asked for."""
MOST_STRETCH = 1.07
"""Ratio of the lengths of a word from which its spacing differs: reading places a word to a few per cent."""
_STRETCHES = tuple(round(0.8 + 0.02 * step, 2) for step in range(22))
_TALL = (0.94, 0.97, 1.0, 1.03, 1.06)
_BLURS_PX = (0.0, 0.8, 1.2, 1.7, 2.3, 3.0)
_LOOSE_PX = 2
_SIDEWAYS_PX = 3


@dataclass(frozen=True, slots=True)
class WordFit:
    """How a word lies on another one of the same letters."""

    correlation: float
    """Of the whole word, both equally blurred."""
    stretch: float
    """Length by that of the known word."""
    least: float
    """Correlation of the least alike window."""
    blur_px: float
    """Blur that one of the two needed to look like the other."""

    def least_alike(self, letters_px: float) -> float:
        """What `least` has to reach for letters of this height in the poorer photo (px)."""
        small = _FOR_SMALL if letters_px < _SMALL_PX else 0.0
        return LEAST_ALIKE - small - _PER_BLUR * max(0.0, self.blur_px - _FREE_BLUR_PX)

    def other_shapes(self, letters_px: float) -> bool:
        """Whether the letters have other shapes."""
        return self.least < self.least_alike(letters_px)

    @property
    def other_length(self) -> bool:
        """Whether the word is set wider or closer."""
        return not 1 / MOST_STRETCH < self.stretch < MOST_STRETCH


@dataclass(frozen=True, eq=False)
class _Laid:
    """The known word as stretched, and where its top left lies on the seen picture (made of the same sign)."""

    word: NDArray[np.float32]
    seen: NDArray[np.float32]
    at: tuple[int, int]
    correlation: float
    stretch: float


def fit_word(known: NDArray[np.float32], seen: NDArray[np.float32], letters: int) -> WordFit | None:
    """Lay a known word on a picture that shows it.

    Parameters
    ----------
    known
        The word alone, (h, w), evenly lit, letters some 25 px tall.
    seen
        The other with a margin, (H, W), evenly lit and to the same scale. Its letters may be light or dark.
    letters
        How many letters the word has.

    Returns
    -------
    WordFit or None
        ``None`` where the picture is too small for the word.
    """
    laid = _laid_whole(known, seen)
    if laid is None:
        return None
    correlation, blur, word, picture = _equally_blurred(laid)
    alike = _windows(word, picture, laid.at, letters)
    return WordFit(correlation, laid.stretch, min(alike, default=correlation), blur)


def _laid_whole(known: NDArray[np.float32], seen: NDArray[np.float32]) -> _Laid | None:
    """Best correlation over stretch, place and sign (etching is dark or light with the lamp)."""
    best: _Laid | None = None
    for stretch in _STRETCHES:
        for tall in _TALL:
            size = round(known.shape[1] * stretch), round(known.shape[0] * tall)
            if size[0] > seen.shape[1] or size[1] > seen.shape[0]:
                continue
            word = np.asarray(cv2.resize(known, size, interpolation=cv2.INTER_LINEAR), np.float32)
            low, high, low_at, high_at = cv2.minMaxLoc(cv2.matchTemplate(seen, word, cv2.TM_CCOEFF_NORMED))
            sign, found, (x, y) = (1, high, high_at) if high >= -low else (-1, -low, low_at)
            if best is None or found > best.correlation:
                best = _Laid(word, np.asarray(sign * seen, np.float32), (int(x), int(y)), float(found), stretch)
    return best


def _equally_blurred(laid: _Laid) -> tuple[float, float, NDArray[np.float32], NDArray[np.float32]]:
    """Correlation, blur and both pictures with the sharper one blurred until they are most alike."""
    tried = []
    for blur in _BLURS_PX:
        for word, seen in ((_soft(laid.word, blur), laid.seen), (laid.word, _soft(laid.seen, blur))):
            tried.append((_alike(word, seen, laid.at, _LOOSE_PX), blur, word, seen))
    return max(tried, key=lambda t: t[0] - 0.002 * t[1])


def _windows(word: NDArray[np.float32], seen: NDArray[np.float32], at: tuple[int, int], letters: int) -> list[float]:
    """Correlation of each window along the word, laid for itself within a few pixels."""
    step = word.shape[1] / max(1, letters)
    wide = min(word.shape[1], int(WINDOW_LETTERS * step))
    count = int(np.ceil((word.shape[1] - wide) / (step / 2))) + 1
    alike = []
    for x in np.linspace(0, word.shape[1] - wide, count).round().astype(int):
        part = word[:, x : x + wide]
        if float(part.std()) > 0.2 * float(word.std()):
            alike.append(_alike(part, seen, (at[0] + int(x), at[1]), _SIDEWAYS_PX))
    return alike


def _alike(part: NDArray[np.float32], seen: NDArray[np.float32], at: tuple[int, int], sideways: int) -> float:
    x, y = at
    height, width = part.shape
    around = seen[max(0, y - _LOOSE_PX) : y + height + _LOOSE_PX, max(0, x - sideways) : x + width + sideways]
    score = cv2.matchTemplate(np.ascontiguousarray(around), np.ascontiguousarray(part), cv2.TM_CCOEFF_NORMED)
    return float(score.max())


def _soft(picture: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), np.float32) if sigma else picture
