"""The reader of signs on metal and rubber: a small network trained on traced marks (tests/training/mark_reader.py).

It looks at the grey values themselves, etched, printed, pressed or dotted, light or dark, and knows only signs: its
view is about three of them wide, so that it cannot lean on which numbers are usual. Where its file or onnxruntime is
missing the general text engine stands alone.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screener.vision import networks
from screener.vision.marks.evenness import CAPITALS_OF_RUN
from screener.vision.marks.upright import cut_upright, rows_a_column_at
from screener.vision.text_engine import Lattice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.marks.face_strip import FaceStrip
    from screener.vision.marks.runs import TextRun

MODEL = Path(__file__).with_name("mark_reader.onnx")
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/.× "
ROWS, CAPITALS_PX, STEP_PX = 48, 26.0, 4
"""Rows of the network's input, height of capitals in it, columns for each step of its output: the network's own."""
_LEAST_COLUMNS = 64
_FLOOR = 1e-5
_APART_STEPS, _HANG_STEPS = 14, 12
"""So many steps without a sign, twice a capital's height, part two texts: a space is put between them."""


@dataclass(frozen=True, slots=True)
class SignCut:
    """How a run is cut out: factors on the capitals' height and along the line, room beside it in heights."""

    tall: float = 1.0
    stretch: float = 1.0
    beside: float = 0.35


def cut_for_signs(
    gray: NDArray[np.uint8], strip: FaceStrip, run: TextRun, cut: SignCut, *, outward: bool
) -> NDArray[np.uint8]:
    """Cut a run out as the network likes it: (ROWS, columns) uint8."""
    height = _height(cut)
    above = (ROWS / height - 1.0) / 2.0
    return cut_upright(gray, strip, run, height, outward=outward, above=above, beside=cut.beside, stretch=cut.stretch)[
        :ROWS
    ]


def signs_reach(
    lattice: Lattice, strip: FaceStrip, run: TextRun, cut: SignCut, *, outward: bool
) -> tuple[float, float]:
    """Columns of the strip between which the signs lie that hang together with the run's own."""
    rows_a_column = rows_a_column_at(strip, run)
    columns_a_step = STEP_PX / (_height(cut) / run.height * rows_a_column * cut.stretch)
    start = run.x0 - cut.beside * run.height / rows_a_column
    end = run.x1 + cut.beside * run.height / rows_a_column
    steps = np.flatnonzero(lattice.log_p.argmax(axis=1)) + 0.5
    places = start + steps * columns_a_step if outward else end - steps[::-1] * columns_a_step
    chains = np.split(places, np.flatnonzero(np.diff(places) > _HANG_STEPS * columns_a_step) + 1)
    middle = 0.5 * (run.x0 + run.x1)
    chain = min(
        (c for c in chains if c.size), key=lambda c: float(np.abs(c - middle).min()), default=np.array([middle])
    )
    half = 0.45 * run.height / rows_a_column
    return float(chain[0]) - half, float(chain[-1]) + half


def _height(cut: SignCut) -> float:
    """Height of a run in the network's rows."""
    return CAPITALS_PX / CAPITALS_OF_RUN * cut.tall


def read_signs(cuts: Sequence[NDArray[np.uint8]]) -> list[Lattice]:
    """Read stretches as ``cut_for_signs`` gives them, each for itself.

    Returns
    -------
    list of Lattice
        As the text engine's, over `ALPHABET`; empty where the network is missing.
    """
    # Each cut is small: a core for each cut is faster than all cores for one.
    session = networks.network_if_there(MODEL, 1)
    if session is None:
        return []
    with ThreadPoolExecutor(networks.threads() or os.cpu_count()) as side_by_side:
        return list(side_by_side.map(partial(_read_one, session), cuts))


def _read_one(session: Any, cut: NDArray[np.uint8]) -> Lattice:
    wide = np.pad(cut, ((0, 0), (0, max(0, _LEAST_COLUMNS - cut.shape[1]))), mode="edge")
    logits = session.run(None, {"grey": wide[None, None].astype(np.float32)})[0][0]
    p = np.exp(logits - logits.max(axis=1, keepdims=True))
    p = _parted(p / p.sum(axis=1, keepdims=True)) + _FLOOR
    return Lattice(ALPHABET, np.log(p / p.sum(axis=1, keepdims=True)).astype(np.float32), STEP_PX)


def _parted(p: NDArray[np.float32]) -> NDArray[np.float32]:
    """Put a space where nothing stands for longer than between words: it was trained on single texts."""
    signs = np.flatnonzero(p.argmax(axis=1))
    for before, after in pairwise(signs.tolist()):
        if after - before > _APART_STEPS:
            middle = (before + after) // 2
            p[middle] = 0.0
            p[middle, 1 + ALPHABET.index(" ")] = 1.0
    return p
