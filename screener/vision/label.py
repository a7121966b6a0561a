"""The printed label in a photo: its lines in reading order and the fields that they state."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from screener.vision.label_again import UNCLEAR_P, lengthened, settle_makers
from screener.vision.label_colour import label_colours
from screener.vision.label_crop import strip_of
from screener.vision.label_fields import FieldsRead, read_fields
from screener.vision.label_layout import PlacedLine, along, place, runs_across, runs_against, share_along, text_axis_deg
from screener.vision.model import LabelLine, LabelSeen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.text_engine import TextEngine, TextLine

_LEAST_SCORE = 0.6
_MOSTLY_ONE_WAY = 0.7
_LEAST_FIELDS = 2
_ROOM = 0.06
"""Around a line that is read again, in heights of its text."""
# An engine sure to 0.99 is right on print about 19 times in 20; the figure is an estimate on drawn labels.
_BELIEF = 0.96
# What stands on the scale card beside parts is print as well, but no label.
_CARD_TEXT = re.compile(r"scale card|centres|^\W*\d+ ?mm\W*$", re.IGNORECASE)


def read_label(
    photo: NDArray[np.uint8], engine: TextEngine, card_white: NDArray[np.float64] | None = None
) -> LabelSeen | None:
    """Read the printed label that a photo shows.

    Parameters
    ----------
    photo
        The upright photo, (H, W, 3) RGB or (H, W) grey, uint8. The label itself may lie turned or tilted.
    engine
        Detector and recogniser.
    card_white
        Light of the scale card's paper, where one lies in the photo (`screener.vision.label_colour.white_of_card`).

    Returns
    -------
    LabelSeen or None
        ``None`` when the print in the photo is no label: ring text, the scale card, stray words. Two fields, or one
        behind a key word beside a designation or maker, make a label.
    """
    rgb = np.repeat(photo[:, :, None], 3, axis=2) if photo.ndim == 2 else photo
    lines = [line for line in engine.read_page(rgb) if _is_print(line)]
    if not lines:
        return None
    quads = [line.quad_px for line in lines]
    axis_deg = text_axis_deg(quads)
    if share_along(quads, axis_deg) < _MOSTLY_ONE_WAY:
        return None
    direction_deg = _way(lines, axis_deg)
    lines = _all_one_way(rgb, lines, direction_deg, engine)
    lines, unclear = _settled(rgb, lines, engine)
    ordered = _in_reading_order([(place(line.text, line.quad_px, direction_deg), line) for line in lines])
    read = read_fields([placed for placed, _ in ordered])
    if not _is_label(read):
        return None
    seen = tuple(LabelLine(line.text, _belief(line, unclear), line.quad_px) for _, line in ordered)
    named = dict(read.lines).get("designation")
    colours = label_colours(
        rgb, [line.region_px for line in seen], None if named is None else seen[named].region_px, card_white
    )
    return LabelSeen(seen, read.fields, read.lines, colours)


def _is_print(line: TextLine) -> bool:
    return (
        line.score >= _LEAST_SCORE and re.search(r"[^\W_]", line.text) is not None and not _CARD_TEXT.search(line.text)
    )


def _way(lines: Sequence[TextLine], axis_deg: float) -> float:
    """Of the two ways along the axis, the one in which more text was read surely. Short lines read both ways."""
    # The engine turns a line over only when unsure of it, and a line read upside down is rarely read surely.
    told = [line for line in lines if not runs_across(line.quad_px, axis_deg)]
    sure = [(runs_against(line.quad_px, axis_deg), len(line.text) ** 1.5 * line.score**6) for line in told]
    forth = sum(weight for against, weight in sure if not against)
    return axis_deg if forth >= sum(weight for against, weight in sure if against) else axis_deg + 180.0


def _all_one_way(
    rgb: NDArray[np.uint8], lines: Sequence[TextLine], direction_deg: float, engine: TextEngine
) -> list[TextLine]:
    """Read again the lines that were read against the way of the others, and single figures read lying down."""
    best = [along(line.quad_px, direction_deg) for line in lines]
    wrong = [line for line, quad in zip(lines, best, strict=True) if quad != line.quad_px]
    turned = [quad for line, quad in zip(lines, best, strict=True) if quad != line.quad_px]
    again = engine.recognise([strip_of(rgb, quad, beside=_ROOM, above=_ROOM) for quad in turned]) if turned else []
    right = [
        lengthened(rgb, line, engine) if runs_across(line.quad_px, direction_deg) else line
        for line in lines
        if line not in wrong
    ]
    for line, quad, (text, score) in zip(wrong, turned, again, strict=True):
        if text.strip() and score >= _LEAST_SCORE:
            right.append(replace(line, text=text.strip(), score=score, quad_px=(quad[0], quad[1], quad[2], quad[3])))
    return right


def _settled(
    rgb: NDArray[np.uint8], lines: Sequence[TextLine], engine: TextEngine
) -> tuple[list[TextLine], frozenset[TextLine]]:
    settled, unclear = settle_makers(rgb, lines, engine)
    return settled, frozenset(settled[index] for index in unclear)


def _belief(line: TextLine, unclear: frozenset[TextLine]) -> float:
    return round(min(_BELIEF * line.score, UNCLEAR_P if line in unclear else 1.0), 3)


def _is_label(read: FieldsRead) -> bool:
    return read.by_key >= 1 and len(read.lines) >= _LEAST_FIELDS


def _in_reading_order(lines: Sequence[tuple[PlacedLine, TextLine]]) -> list[tuple[PlacedLine, TextLine]]:
    """Sort by rows, each from left to right; a line belongs to a row while it overlaps the row's first line by half."""
    rows: list[list[tuple[PlacedLine, TextLine]]] = []
    for item in sorted(lines, key=lambda pair: pair[0].top + pair[0].height / 2):
        first = rows[-1][0][0] if rows else None
        middle = (item[0].top + item[0].bottom) / 2
        if first is not None and first.top < middle < first.bottom:
            rows[-1].append(item)
        else:
            rows.append([item])
    return [item for row in rows for item in sorted(row, key=lambda pair: pair[0].left)]
