"""A second look at a maker's word that is nearly a known one, to tell odd print from odd reading.

The detector cuts a letter off now and then; a wrong letter then depends on the cut. A word that is really misspelt
reads the same however it is cut out.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from screener.specs.makers import match_maker
from screener.vision.label_crop import strip_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.text_engine import TextEngine, TextLine

# Room around the line in heights of the text: (beside, above and below), and the height of the strip in pixels.
_CUTS = (
    (0.1, 0.02, 0),
    (0.35, 0.08, 0),
    (0.6, 0.15, 0),
    (0.35, 0.2, 48),
    (0.6, 0.08, 64),
    (0.2, 0.12, 36),
    (0.9, 0.15, 48),
)
# For letters that were cut off: room before and behind in heights of the text.
_LONGER = (0.5, 0.9, 1.3, 1.7)
_ROOM_ABOVE = 0.08
_SURE = 0.8
_CLEAR = 0.7
"""Share of the readings from which on they count as one."""
UNCLEAR_P = 0.6
"""What a word is worth when the cuts read it differently (judgement)."""


def settle_makers(
    rgb: NDArray[np.uint8], lines: Sequence[TextLine], engine: TextEngine
) -> tuple[list[TextLine], frozenset[int]]:
    """Read lines again that nearly name a known maker.

    Parameters
    ----------
    rgb
        The photo, (H, W, 3) uint8.
    lines
        As read, each with its corners from the text's own top left.

    Returns
    -------
    lines, unclear
        The lines with what most cuts read, and the places of those that the cuts read differently.
    """
    settled, unclear = list(lines), set()
    for index, line in enumerate(lines):
        match = match_maker(line.text)
        if match is None or match.exact:
            continue
        settled[index], clear = _most_read(rgb, line, engine)
        if not clear:
            unclear.add(index)
    return settled, frozenset(unclear)


def lengthened(rgb: NDArray[np.uint8], line: TextLine, engine: TextEngine) -> TextLine:
    """Return a line with the letters that the detector cut off at its ends, if cuts with more room agree on them.

    The detector does so on words that run up or down beside a label.
    """
    crops = [strip_of(rgb, line.quad_px, beside=beside, above=_ROOM_ABOVE) for beside in _LONGER]
    readings = [(text.strip(), score) for text, score in engine.recognise(crops) if score >= _SURE]
    more = [(text, score) for text, score in readings if line.text in text and len(text) > len(line.text)]
    if not more:
        return line
    text, count = Counter(text for text, _ in more).most_common(1)[0]
    return replace(line, text=text, score=min(s for t, s in more if t == text)) if count > 1 else line


def _most_read(rgb: NDArray[np.uint8], line: TextLine, engine: TextEngine) -> tuple[TextLine, bool]:
    crops = [strip_of(rgb, line.quad_px, beside=b, above=a, height_px=h) for b, a, h in _CUTS]
    readings = [(text.strip(), score) for text, score in engine.recognise(crops)]
    words = [match.text for text, _ in readings if (match := match_maker(text)) is not None]
    words.append(_word(line.text))
    word, count = Counter(words).most_common(1)[0]
    clear = count >= _CLEAR * (len(_CUTS) + 1)
    best = [(score, text) for text, score in readings if _word(text) == word]
    if word == _word(line.text) or not best:
        return line, clear
    score, text = max(best)
    return replace(line, text=text, score=score), clear


def _word(text: str) -> str:
    match = match_maker(text)
    return match.text if match is not None else ""
