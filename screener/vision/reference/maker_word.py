"""The maker's word on a package beside the reference's: in another case, wider or closer, or in other letter shapes.

What a redesign of the logo, another plant or another printer explains as well; each difference says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np

from screener.specs.letter_case import in_other_case
from screener.specs.makers import match_maker
from screener.vision.reference.elements import Rect, letters_of
from screener.vision.reference.letter_shapes import fit_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.reference.elements import Element
    from screener.vision.reference.layout import Standing
    from screener.vision.reference.light import Matched
    from screener.vision.reference.print_text import TextVerdict

_ROWS = 40
_ABOVE, _BESIDE = 0.2, 0.22
"""Room around the word in the photo: by its height above and below, by its length at both ends."""
_LEAST_LETTERS_PX = 11.0
_AROUND_LETTERS = 1.4
"""Height of a line's outline by that of its capitals."""


@dataclass(frozen=True, slots=True)
class MakerWordVerdict:
    """A maker's word that is printed otherwise."""

    element: Element
    place: Rect
    how: Literal["case", "length", "shapes"]
    read: str
    """What the photo reads there, if it was read."""
    stretch: float
    """Length of the word by that of the reference's."""
    least: float
    """Correlation of its least alike letter or so."""
    least_alike: float
    """What `least` has to reach in a photo like this."""


def maker_words_otherwise(
    standing: Sequence[Standing], texts: Sequence[TextVerdict], matched: Matched, scale: float
) -> tuple[MakerWordVerdict, ...]:
    """Compare each line that is a known maker's word, spelt rightly.

    Parameters
    ----------
    standing
        Elements that are on both.
    texts
        Lines that look otherwise: of the maker's words among them, what was read there.
    matched
        Reference and photo in one light.
    scale
        Photo px per frame px.
    """
    mine = [s for s in standing if s.element.kind == "text" and not s.element.across and _is_maker(s.element.text)]
    looks = {id(t.element): t for t in texts}
    verdicts = (_verdict(s, looks.get(id(s.element)), matched, scale) for s in mine)
    return tuple(v for v in verdicts if v is not None)


def _is_maker(text: str) -> bool:
    match = match_maker(text)
    if match is None or not match.exact:
        return False
    return letters_of(text) in {letters_of(spelling) for spelling in (match.maker.word, *match.maker.also)}


def _verdict(s: Standing, text: TextVerdict | None, matched: Matched, scale: float) -> MakerWordVerdict | None:
    element, read = s.element, text.read.strip() if text is not None else ""
    if text is not None and (text.reads_otherwise or letters_of(read) != letters_of(element.text)):
        # Other letters, or none that can be read: that is said of the line.
        return None
    letters_px = element.place.height * scale / _AROUND_LETTERS
    if letters_px < _LEAST_LETTERS_PX:
        return None
    fit = fit_word(*_pictures(s, matched), len(letters_of(element.text)))
    if fit is None:
        return None
    shapes = text is not None or fit.other_shapes(letters_px)
    if not shapes and not fit.other_length:
        return None
    how: Literal["case", "length", "shapes"] = (
        "shapes" if fit.other_shapes(letters_px) or not fit.other_length else "length"
    )
    if in_other_case(element.text, read):
        how = "case"
    size = (matched.seen.shape[1], matched.seen.shape[0])
    place = _widened(element.place.moved(s.dx, s.dy), max(0.0, fit.stretch - 1), size)
    return MakerWordVerdict(element, place, how, read, fit.stretch, fit.least, fit.least_alike(letters_px))


def _pictures(s: Standing, matched: Matched) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The word in the reference, and in the photo with a margin, to one scale."""
    height, width = matched.seen.shape
    home, there = s.element.place, s.element.place.moved(s.dx, s.dy)
    around = _widened(there, _BESIDE, (width, height)).grown(round(_ABOVE * home.height), (width, height))
    factor = _ROWS / home.height
    return _even(home.cut(matched.expected), factor), _even(around.cut(matched.seen), factor)


def _widened(place: Rect, share: float, size_px: tuple[int, int]) -> Rect:
    more = round(share * place.width)
    return Rect(max(0, place.left - more), place.top, min(size_px[0], place.right + more), place.bottom)


def _even(picture: NDArray[np.generic], factor: float) -> NDArray[np.float32]:
    gray = np.ascontiguousarray(picture).astype(np.float32)
    sized = cv2.resize(
        gray, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA if factor < 1 else cv2.INTER_LINEAR
    )
    return np.asarray((sized - sized.mean()) / (sized.std() + 1.0), np.float32)
