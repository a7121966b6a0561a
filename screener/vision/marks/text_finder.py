"""The finder of texts: a small network trained on traced faces (tests/training/text_finder.py) says where text stands.

It sees the whole straightened face at once and so tells text from balls, glints and edges, which `runs` tells only by
how far strokes stand out from their rows. Where its file or onnxruntime is missing `runs` stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision import networks

if TYPE_CHECKING:
    from numpy.typing import NDArray

MODEL = Path(__file__).with_name("text_finder.onnx")
_SHRINK, _STEP = 2, 2
"""The network sees the face half as fine, averaged, and answers for every second row and column of that."""
_GRAIN = 16
_ROOM = 64
"""Columns of its input repeated at both ends: texts lie across the seam as well."""
_USUAL_ROWS = 14.0
"""Rows of its input by which it gives heights and distances."""
_LEAST_P, _LEAST_PLACES = 0.35, 12
_JOIN_PLACES = 5


@dataclass(frozen=True, slots=True)
class TextPlace:
    """Where a text stands on a straightened face, in its columns and rows. Columns may exceed its width (they wrap)."""

    x0: float
    x1: float
    middle: float
    """Row halfway up the capitals."""
    capitals: float
    """Their height in rows."""
    p: float
    """Mean of what the network gives its places, 0-1."""


def finder_is_there() -> bool:
    """Whether the network can be asked."""
    return networks.network_if_there(MODEL, networks.threads()) is not None


def find_texts(shade: NDArray[np.uint8]) -> tuple[TextPlace, ...]:
    """Find texts on a straightened face, the surest first.

    Parameters
    ----------
    shade
        (rows, columns) uint8, one turn of the face; row 0 is the outermost.

    Returns
    -------
    tuple of TextPlace
        Empty where the network is missing.
    """
    session = networks.network_if_there(MODEL, networks.threads())
    if session is None:
        return ()
    rows, columns = (round(shade.shape[0] / _SHRINK), round(shade.shape[1] / _SHRINK / _GRAIN) * _GRAIN)
    grey: NDArray[np.float32] = cv2.resize(shade, (columns, rows), interpolation=cv2.INTER_AREA).astype(np.float32)
    grey = np.pad(grey, ((0, 0), (_ROOM, _ROOM)), mode="wrap")
    grey = np.pad(grey, ((0, -rows % _GRAIN), (0, 0)), mode="edge")
    answer = session.run(None, {"grey": grey[None, None]})[0][0]
    answer = answer[:, : rows // _STEP, _ROOM // _STEP : -(_ROOM // _STEP)]
    scale = (shade.shape[1] / answer.shape[2], _SHRINK)
    found = _places(1.0 / (1.0 + np.exp(-answer[0])), np.exp(answer[1]) * _USUAL_ROWS, answer[2] * _USUAL_ROWS, scale)
    return tuple(sorted(found, key=lambda place: -place.p * (place.x1 - place.x0)))


def _places(
    p: NDArray[np.float32], capitals: NDArray[np.float32], below: NDArray[np.float32], scale: tuple[float, float]
) -> list[TextPlace]:
    """Stretches of likely places; ``scale``: columns of the face a step, rows of the face a row of the input."""
    turn = p.shape[1]
    turns = np.hstack([p > _LEAST_P] * 3).astype(np.uint8)
    likely = cv2.morphologyEx(turns, cv2.MORPH_CLOSE, np.ones((1, _JOIN_PLACES), np.uint8))
    count, which, boxes, _ = cv2.connectedComponentsWithStats(likely, connectivity=8)
    found = []
    for number in range(1, count):
        left, _, width, _, places = boxes[number]
        if not (turn <= left < 2 * turn and width < turn and places >= _LEAST_PLACES):
            continue
        rows, columns = np.nonzero(which[:, left : left + width] == number)
        at = (rows, (columns + left) % turn)
        weight = p[at]
        middle = float(np.average(rows * _STEP + 0.5 + below[at], weights=weight))
        high = float(np.exp(np.average(np.log(capitals[at]), weights=weight)))
        first, last = left - turn, left - turn + width
        found.append(
            TextPlace(first * scale[0], last * scale[0], (middle + 0.5) * scale[1] - 0.5, high * scale[1],
                      float(weight.mean()))
        )  # fmt: skip
    return found
