"""One run of text read by every reader, both ways round and in several cuts.

Two readers look at it: the general text engine, which likes a squeezed dark-on-light line, and the trained reader of
signs, which takes the grey values as they are and also says where there is no text at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np

from screener.vision.marks.runs import A_PIECE, TextRun, share_inside
from screener.vision.marks.sign_reader import SignCut, cut_for_signs, read_signs, signs_reach
from screener.vision.text_engine import INPUT_HEIGHT_PX

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.marks.face_strip import FaceStrip
    from screener.vision.text_engine import Lattice, TextEngine

Way = Literal["outward", "inward"]


WAYS: tuple[Way, Way] = ("outward", "inward")


@dataclass(frozen=True, slots=True)
class Cut:
    """How a run is cut out: the share of the height that capitals fill, stretch along the line, margin in capitals."""

    fill: float = 0.66
    stretch: float = 1.0
    beside: float = 0.7
    as_it_looks: bool = False


_MORE_CUTS = (
    (Cut(fill=0.58, beside=1.5), Cut(stretch=1.1, as_it_looks=True)),
    (Cut(fill=0.74, stretch=0.9), Cut(fill=0.6, beside=0.8, as_it_looks=True)),
)
_MORE_SIGN_CUTS = (
    (SignCut(tall=0.9), SignCut(tall=1.1, stretch=0.9, beside=2.2)),
    (SignCut(tall=0.95, stretch=1.1, beside=2.2), SignCut(tall=1.05)),
)
MORE_ROUNDS = len(_MORE_CUTS)
"""How often a run can be read again, each time in other cuts."""
_FIRST_SIGN_CUT = SignCut(beside=1.6)
_MOST_READ = 6
"""Runs that the general engine reads as well."""
_LOOKS_READ = 0.5


@dataclass(frozen=True, slots=True)
class RunRead:
    """A run with what every reader made of it."""

    run: TextRun
    lattices: dict[Way, tuple[Lattice, ...]]
    """What each reader held possible."""
    texts: dict[Way, tuple[str, float]]


def read_runs(gray: NDArray[np.uint8], strip: FaceStrip, runs: Sequence[TextRun], engine: TextEngine) -> list[RunRead]:
    """Read every run both ways round; the reader of signs first, which sees nothing where no text is."""
    signs = read_signs(
        [cut_for_signs(gray, strip, run, _FIRST_SIGN_CUT, outward=way == "outward") for run in runs for way in WAYS]
    )
    worth = [i for i in range(len(runs)) if any(map(_looks_read, signs[2 * i : 2 * i + 2]))]
    worth = worth[:_MOST_READ] if signs else list(range(min(_MOST_READ, len(runs))))
    whole = [_whole(strip, runs[i], signs[2 * i : 2 * i + 2]) if signs else runs[i] for i in worth]
    general = engine.recognise_lattice([_crop(strip, run, way, Cut()) for run in whole for way in WAYS])
    reads = []
    for k, (i, run) in enumerate(zip(worth, whole, strict=True)):
        lattices = {
            way: tuple(found[at + side] for found, at in ((general, 2 * k), (signs, 2 * i)) if found)
            for side, way in enumerate(WAYS)
        }
        reads.append(RunRead(run, lattices, {way: _surest(found) for way, found in lattices.items()}))
    reads = [read for read in reads if any(len(t) > 1 and p > 0.3 for t, p in read.texts.values())]
    turn = strip.levels.shape[1]
    return [read for read in reads if not any(_is_part_of(read, other, turn) for other in reads)]


def _is_part_of(read: RunRead, other: RunRead, turn: int) -> bool:
    """Whether a run is a piece of another that says more: one text can be found whole and once more in part."""
    more = _says(other) > _says(read) or (_says(other) == _says(read) and other.run.strength > read.run.strength)
    return other is not read and more and share_inside(read.run, other.run, turn) > A_PIECE


def _says(read: RunRead) -> float:
    """Signs that a run gives, by how surely they are read, the better way round."""
    return max(len(text.replace(" ", "")) * score**2 for text, score in read.texts.values())


def _whole(strip: FaceStrip, run: TextRun, both_ways: Sequence[Lattice]) -> TextRun:
    """The run with the signs that were read just beyond its ends: a last one in shade belongs to it."""
    way, read = max(zip(WAYS, both_ways, strict=True), key=lambda each: each[1].best()[1])
    first, last = signs_reach(read, strip, run, _FIRST_SIGN_CUT, outward=way == "outward")
    return replace(run, x0=min(run.x0, first), x1=max(run.x1, last))


def _looks_read(lattice: Lattice) -> bool:
    text, score, _ = lattice.best()
    return len(text) > 1 and score > _LOOKS_READ


def _surest(lattices: Sequence[Lattice]) -> tuple[str, float]:
    return max((lattice.best()[:2] for lattice in lattices), key=lambda best: best[1])


def _crop(strip: FaceStrip, run: TextRun, way: Way, cut: Cut) -> NDArray[np.uint8]:
    """Cut a run out as the recogniser likes it: dark letters on light, capitals filling about two thirds."""
    above, beside = run.height * (1.0 / cut.fill - 1.0) / 2, run.height * cut.beside
    box = (run.x0 - beside, run.x1 + beside, run.y0 - above, run.y1 + above)
    levels = strip.cut_evenly_lit(*box) if cut.as_it_looks else strip.cut(*box)
    shade = np.clip(165.0 - 36.0 * run.polarity * levels, 0, 255).astype(np.uint8)
    width = max(16, round(shade.shape[1] * INPUT_HEIGHT_PX / shade.shape[0] * cut.stretch))
    shrinks = shade.shape[0] > INPUT_HEIGHT_PX
    scaled = cv2.resize(shade, (width, INPUT_HEIGHT_PX), interpolation=cv2.INTER_AREA if shrinks else cv2.INTER_CUBIC)
    turned = scaled if way == "outward" else scaled[::-1, ::-1]
    return np.ascontiguousarray(turned, np.uint8)


def read_again(
    gray: NDArray[np.uint8], strip: FaceStrip, run: TextRun, way: Way, engine: TextEngine, round_number: int
) -> list[list[Lattice]]:
    """For each reader there is, in the order of `RunRead.lattices`, what it makes of a run in the cuts of a round."""
    general = engine.recognise_lattice([_crop(strip, run, way, cut) for cut in _MORE_CUTS[round_number]])
    cuts = [cut_for_signs(gray, strip, run, cut, outward=way == "outward") for cut in _MORE_SIGN_CUTS[round_number]]
    return [general, signs] if (signs := read_signs(cuts)) else [general]
