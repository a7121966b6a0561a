"""The text recogniser: rapidocr's bundled ONNX models on onnxruntime, offline, loaded at first use.

The detector is used through rapidocr. The recogniser is run directly, for two reasons: a call with the detector off
would stick to the rapidocr object for its later calls, and rapidocr returns only the best text, while a mark on metal
is read from *all* that the network held possible (a lattice).
"""

from __future__ import annotations

import importlib.util
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screener.errors import ScreenerError
from screener.vision import networks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point

INPUT_HEIGHT_PX = 48
"""Height of the recogniser's input; a capital should fill about two thirds of it."""
STEP_PX = 8
"""Input pixels for each step of the recogniser's output."""
MARK_ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/.×+() "
"""What can stand in a designation, a size, a maker's word or a lot code, in capitals."""

_DETECTOR_MODEL = "PP-OCRv6_det_small.onnx"
_RECOGNISER_MODEL = "PP-OCRv6_rec_small.onnx"
_LONGEST_INPUT_PX = 2400
_BATCH_AREA_PX = 4096
_SURE_ENOUGH = 0.8
# A small x is how the engine sees the sign between the numbers of a size.
_SPELLINGS = {"×": "×x", "X": "X", "/": "/|", "-": "-–—_", "(": "(（", ")": ")）"}


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of text found on a page."""

    text: str
    score: float
    """The engine's own figure, 0-1. Not a probability: it can be 0.95 for a wrong lot code."""
    quad_px: tuple[Point, Point, Point, Point]
    """Corners, clockwise from the text's own top left, in pixels of the image given."""


@dataclass(frozen=True, slots=True)
class Lattice:
    """What the recogniser held possible at each step along one crop.

    ``log_p[t, 0]`` is the log probability of "no character" (the CTC blank) at step t, ``log_p[t, 1 + k]`` that of
    ``alphabet[k]``; case and spellings of one sign are added up. Rows are scaled to sum to one over the alphabet.
    """

    alphabet: str
    log_p: NDArray[np.float32]
    px_per_step: float
    """Pixels of the crop, as it was given, for each step."""

    def best(self) -> tuple[str, float, tuple[float, ...]]:
        """Return the likeliest text, the mean probability of its characters and each character's x in crop pixels."""
        path = self.log_p.argmax(axis=1)
        peaks = [t for t in range(len(path)) if path[t] and (t == 0 or path[t] != path[t - 1])]
        text = "".join(self.alphabet[path[t] - 1] for t in peaks)
        score = float(np.exp(self.log_p[peaks, path[peaks]]).mean()) if peaks else 0.0
        return text, score, tuple((t + 0.5) * self.px_per_step for t in peaks)


class TextEngine:
    """Detector and recogniser with a bounded number of threads. Safe to keep for the life of the process.

    Parameters
    ----------
    threads
        CPU threads for each model; ``None`` lets onnxruntime take all cores.

    Raises
    ------
    ScreenerError
        If rapidocr, its bundled models or onnxruntime are missing (code ``ocr_missing``).
    """

    def __init__(self, *, threads: int | None = None) -> None:
        self._threads = threads
        self._detector_path, recogniser_path = _bundled_models()
        self._detector: Any = None
        self._session = _session(recogniser_path, threads)
        self._input_name: str = self._session.get_inputs()[0].name
        characters = self._session.get_modelmeta().custom_metadata_map["character"].splitlines()
        self._characters = ["", *characters, " "]

    def read_page(self, rgb: NDArray[np.uint8], *, max_side_px: int = 1600) -> tuple[TextLine, ...]:
        """Find and read the lines of text on a page, upright or upside down.

        Parameters
        ----------
        rgb
            (H, W, 3) uint8.
        max_side_px
            Lines are searched for in the image reduced to this; they are read from the image as given.

        Returns
        -------
        tuple of TextLine
            Top to bottom, left to right; empty if nothing was found.
        """
        quads = self._find_lines(rgb, max_side_px)
        quads = [np.roll(quad, -1, axis=0) if _upended(quad) else quad for quad in quads]
        crops = [_straighten(rgb, quad) for quad in quads]
        upright = self.recognise(crops)
        doubtful = [i for i, (_, score) in enumerate(upright) if score < _SURE_ENOUGH]
        turned = dict(zip(doubtful, self.recognise([crops[i][::-1, ::-1] for i in doubtful]), strict=True))
        lines = []
        for i, quad in enumerate(quads):
            flipped = i in turned and turned[i][1] > upright[i][1]
            text, score = turned[i] if flipped else upright[i]
            if text.strip():
                lines.append(TextLine(text.strip(), score, _corners(np.roll(quad, 2, axis=0) if flipped else quad)))
        return tuple(lines)

    def recognise(self, crops: Sequence[NDArray[np.uint8]]) -> list[tuple[str, float]]:
        """Read each crop as one line: the likeliest text in all the engine's characters, and its mean score.

        Parameters
        ----------
        crops
            (h, w, 3) RGB or (h, w) grey, uint8, text upright.
        """
        read = []
        for p in self._outputs(crops):
            path = p.argmax(axis=1)
            peaks = [t for t in range(len(path)) if path[t] and (t == 0 or path[t] != path[t - 1])]
            text = "".join(self._characters[path[t]] for t in peaks)
            read.append((text, float(p[peaks, path[peaks]].mean()) if peaks else 0.0))
        return read

    def recognise_lattice(
        self, crops: Sequence[NDArray[np.uint8]], *, alphabet: str = MARK_ALPHABET, floor: float = 1e-5
    ) -> list[Lattice]:
        """Read each crop and keep what else was possible, restricted to an alphabet.

        Parameters
        ----------
        crops
            As for ``recognise``.
        alphabet
            Capitals, digits and signs; lower case counts as upper case.
        floor
            Added to every probability before the logarithm, so that no character is ever impossible.
        """
        columns = _columns(self._characters, alphabet)
        lattices = []
        for crop, p in zip(crops, self._outputs(crops), strict=True):
            kept = np.stack([p[:, 0], *(p[:, c].sum(axis=1) for c in columns)], axis=1) + floor
            kept /= kept.sum(axis=1, keepdims=True)
            px_per_step = STEP_PX * crop.shape[0] / INPUT_HEIGHT_PX
            lattices.append(Lattice(alphabet, np.log(kept).astype(np.float32), px_per_step))
        return lattices

    def _outputs(self, crops: Sequence[NDArray[np.uint8]]) -> list[NDArray[np.float32]]:
        """Probabilities (steps, characters) for each crop, its padding cut off."""
        inputs = [_network_input(crop) for crop in crops]
        outputs: list[NDArray[np.float32]] = [np.empty(0, np.float32)] * len(inputs)
        for batch in _batches([x.shape[2] for x in inputs]):
            width = max(inputs[i].shape[2] for i in batch)
            block = np.zeros((len(batch), 3, INPUT_HEIGHT_PX, width), np.float32)
            for row, i in enumerate(batch):
                block[row, :, :, : inputs[i].shape[2]] = inputs[i]
            result = self._session.run(None, {self._input_name: block})[0]
            for row, i in enumerate(batch):
                outputs[i] = result[row, : math.ceil(inputs[i].shape[2] / STEP_PX)]
        return outputs

    def _find_lines(self, rgb: NDArray[np.uint8], max_side_px: int) -> list[NDArray[np.float32]]:
        import cv2

        scale = min(1.0, max_side_px / max(rgb.shape[:2]))
        small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else rgb
        if self._detector is None:
            self._detector = _rapidocr_detector(self._detector_path, self._threads)
        # Always the same flags: they stick to the object, so nobody else may use it.
        found = self._detector(small[:, :, ::-1], use_det=True, use_cls=False, use_rec=False)
        boxes = getattr(found, "boxes", None)
        return [] if boxes is None else [np.asarray(box, np.float32) / scale for box in boxes]


def text_engine() -> TextEngine:
    """Return this process's engine, made at the first call with as many threads as the process allows its networks."""
    return _engine_of(networks.threads())


@cache
def _engine_of(threads: int | None) -> TextEngine:
    return TextEngine(threads=threads)


def _missing(what: str) -> ScreenerError:
    return ScreenerError(
        f"The text reader cannot start: {what}.",
        next_step="Install it again with: pip install rapidocr onnxruntime",
        code="ocr_missing",
    )


def _bundled_models() -> tuple[Path, Path]:
    """Paths of the detector and recogniser inside rapidocr's wheel. Named outright, so that nothing is downloaded."""
    found = importlib.util.find_spec("rapidocr")
    if found is None or not found.submodule_search_locations:
        raise _missing("the package rapidocr is not installed")
    folder = Path(found.submodule_search_locations[0]) / "models"
    return _one_model(folder, _DETECTOR_MODEL, "det"), _one_model(folder, _RECOGNISER_MODEL, "rec")


def _one_model(folder: Path, name: str, task: str) -> Path:
    if (folder / name).is_file():
        return folder / name
    others = sorted(folder.glob(f"*_{task}_*.onnx"))
    if len(others) != 1:
        raise _missing(f"the model {name} is not in {folder}")
    return others[0]


def _session(model: Path, threads: int | None) -> Any:
    try:
        return networks.open_network(model, threads)
    except ImportError as fault:
        # rapidocr itself would only say so at the first read.
        raise _missing("the package onnxruntime is not installed") from fault


def _rapidocr_detector(model: Path, threads: int | None) -> Any:
    from rapidocr import RapidOCR

    params: dict[str, Any] = {
        "Global.log_level": "critical",
        "Global.max_side_len": 4096,
        "Det.model_path": str(model),
        "Det.limit_type": "max",
        "Det.limit_side_len": 4096,
    }
    if threads is not None:
        params["EngineConfig.onnxruntime.intra_op_num_threads"] = threads
        params["EngineConfig.onnxruntime.inter_op_num_threads"] = 1
    return RapidOCR(params=params)


def _network_input(crop: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Scale a crop to the recogniser's height and its values to -1 ... 1: (3, 48, w) float32, BGR."""
    import cv2

    if crop.ndim == 2:
        crop = cv2.cvtColor(np.ascontiguousarray(crop), cv2.COLOR_GRAY2RGB).astype(np.uint8)
    width = max(STEP_PX, min(_LONGEST_INPUT_PX, math.ceil(crop.shape[1] * INPUT_HEIGHT_PX / crop.shape[0])))
    shrinks = crop.shape[0] > INPUT_HEIGHT_PX
    scaled = cv2.resize(
        np.ascontiguousarray(crop[:, :, ::-1]),
        (width, INPUT_HEIGHT_PX),
        interpolation=cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR,
    )
    return np.asarray(scaled.transpose(2, 0, 1), np.float32) / 127.5 - 1.0


def _batches(widths: Sequence[int]) -> list[list[int]]:
    """Group crops of like width; padding costs as much as text, so a group holds no crop under 3/4 of its widest."""
    groups: list[list[int]] = []
    for i in sorted(range(len(widths)), key=lambda i: -widths[i]):
        widest = widths[groups[-1][0]] if groups else 0
        if widest and widths[i] >= 0.75 * widest and widest * (len(groups[-1]) + 1) <= _BATCH_AREA_PX:
            groups[-1].append(i)
        else:
            groups.append([i])
    return groups


def _columns(characters: Sequence[str], alphabet: str) -> list[list[int]]:
    where = {c: i for i, c in enumerate(characters)}
    spelled = [_SPELLINGS.get(c, c + c.lower() if c.isalpha() else c) for c in alphabet]
    return [[where[s] for s in spelling if s in where] for spelling in spelled]


def _upended(quad: NDArray[np.float32]) -> bool:
    """Whether a quadrilateral is so much taller than wide that its text must run up or down."""
    return max(_length(quad, 0, 3), _length(quad, 1, 2)) > 1.5 * max(_length(quad, 0, 1), _length(quad, 3, 2))


def _straighten(rgb: NDArray[np.uint8], quad: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Cut a quadrilateral out as an upright strip whose top left is the first corner."""
    import cv2

    width = max(1, round(max(_length(quad, 0, 1), _length(quad, 3, 2))))
    height = max(1, round(max(_length(quad, 0, 3), _length(quad, 1, 2))))
    to = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    shape = cv2.getPerspectiveTransform(quad.astype(np.float32), to)
    crop = cv2.warpPerspective(rgb, shape, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(crop, np.uint8)


def _length(quad: NDArray[np.float32], i: int, j: int) -> float:
    return float(np.hypot(*(quad[i] - quad[j])))


def _corners(quad: NDArray[np.float32]) -> tuple[Point, Point, Point, Point]:
    a, b, c, d = ((float(x), float(y)) for x, y in quad)
    return a, b, c, d
