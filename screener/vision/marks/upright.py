"""A run of text cut out of the photo as it stands on the part: letters upright and as wide as they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from screener.vision.marks.face_strip import SQUEEZE
from screener.vision.unwrap import sampled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.marks.face_strip import FaceStrip
    from screener.vision.marks.runs import TextRun

_TRUE_AT = 0.9
"""Columns of a face strip are as long as rows are high at this share of the outer radius, but for the squeeze."""


def cut_upright(
    gray: NDArray[np.uint8],
    strip: FaceStrip,
    run: TextRun,
    height_px: float,
    *,
    outward: bool,
    above: float,
    beside: float,
    stretch: float = 1.0,
) -> NDArray[np.uint8]:
    """Cut a run out of the photo.

    Parameters
    ----------
    gray
        (H, W) uint8, the photo.
    strip, run
        The straightened face and where on it the text stands.
    height_px
        Height that the run gets.
    outward
        Whether the tops of the letters point away from the centre.
    above, beside
        Room around the text, in heights of the run.
    stretch
        Factor along the line.

    Returns
    -------
    cut
        (rows, columns) uint8.
    """
    zoom = height_px / run.height
    rows_a_column = rows_a_column_at(strip, run)
    rows = round((1.0 + 2.0 * above) * height_px)
    room = beside * run.height / rows_a_column
    columns = max(8, round((run.x1 - run.x0 + 2.0 * room) * rows_a_column * zoom * stretch))
    x = np.linspace(run.x0 - room, run.x1 + room, columns)[None, :]
    y = np.linspace(run.y0 - above * run.height, run.y1 + above * run.height, rows)[:, None]
    px, py = strip.geometry.photo_points(x, y)
    cut = sampled(gray, px, py, px_per_px=strip.photo_px_per_row / zoom)
    return np.ascontiguousarray(cut if outward else cut[::-1, ::-1])


def rows_a_column_at(strip: FaceStrip, run: TextRun) -> float:
    """How long a column of the strip is on the part, halfway up a run, in rows."""
    return strip.relative_radius((run.y0 + run.y1) / 2) / (_TRUE_AT * SQUEEZE)
