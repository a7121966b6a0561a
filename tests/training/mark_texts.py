"""What is written around made-up parts, and how: texts, and the strips of ink that path_tracer.cu lays around a face.

Half of the texts are no designations and most numbers are in no table: a reader trained on them learns signs
and not which numbers are usual. Type faces come from a folder of font files; plain strokes as an engraver's needle
draws them (OpenCV's stroke letters) are mixed in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont
from traced import MARK_COLUMNS, MARK_ROWS

SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/.x"
CAPITAL_ROWS = 36
"""Rows of the strip that capitals take."""
CLOSURES = (
    "ZZ", "Z", "2Z", "-2Z", "-Z", " ZZ", "-2RS", "2RS", " 2RS", "-2RS1", "-2RSR", "-2RSH", "-RS", "-2RZ", "DDU", "DU",
    "LLU", "LLB", "LU", "VV", "NR", "N", "K", "-ZZ", "-2RSL", "2RS1", "RS",
)  # fmt: skip
CLEARANCES = ("C3", "/C3", " C3", "-C3", "/C4", "C4", " C2", "/C2", "/C5", "P6", "/P5", " P63", "CM", " CM", "/P6")
VOWELS, CONSONANTS = "AEIOUY", "BCDFGHJKLMNPQRSTVWXZ"
PITCH = (0.85, 1.5)
NEEDLE = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_PLAIN)
_BIG = 72
"""Capitals are drawn this high and then reduced."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One text on a strip: columns from its first to past its last sign, and which way its tops point."""

    text: str
    first: float
    last: float


def any_text(rng: np.random.Generator) -> str:
    """One text as parts carry them, and some that none does."""
    kind = rng.random()
    if kind < 0.45:
        return _designation(rng)
    if kind < 0.60:
        return _word(rng)
    if kind < 0.75:
        return _lot(rng)
    if kind < 0.80:
        return f"{_word(rng)} {_designation(rng)}"[:18]
    if kind < 0.85:
        sizes = sorted(rng.integers(5, 120, 2))
        sign = str(rng.choice(["x", "-", "/", "X"]))
        return f"{sizes[0]}{sign}{sizes[1]}{sign}{rng.integers(4, 15)}"
    count = int(rng.integers(2, 11))
    text = "".join(rng.choice(list(SIGNS), count))
    if count > 5 and rng.random() < 0.3:
        text = f"{text[:3]} {text[3:]}"
    return text.strip(" ")


def _digits(rng: np.random.Generator, count: int) -> str:
    return "".join(str(d) for d in rng.integers(0, 10, count))


def _designation(rng: np.random.Generator) -> str:
    kind = rng.random()
    if kind < 0.3:
        number = str(rng.choice(["60", "62", "63", "64", "68", "69"])) + _digits(rng, 2)
    elif kind < 0.5:
        number = str(rng.choice(["6", "60", "62", "63", "68", "69"])) + _digits(rng, int(rng.integers(1, 4)))
    elif kind < 0.7:
        number = str(rng.integers(1, 10)) + _digits(rng, int(rng.integers(2, 5)))
    else:
        number = _digits(rng, int(rng.integers(3, 6)))
        if rng.random() < 0.35:
            number = str(rng.choice(["NU", "NJ", "N", "R", "HK", "SS", "S", "UC", "NUP", "E", "MR", "F", "W"])) + number
    text = number
    if rng.random() < 0.6:
        text += str(rng.choice(CLOSURES))
    if rng.random() < 0.45:
        text += str(rng.choice(CLEARANCES))
    if rng.random() < 0.15:
        text += "".join(rng.choice(list(SIGNS), int(rng.integers(1, 3))))
    return text


def _word(rng: np.random.Generator) -> str:
    return "".join(
        str(rng.choice(list(VOWELS if (i + int(rng.integers(2))) % 2 else CONSONANTS)))
        for i in range(rng.integers(3, 9))
    )


def _lot(rng: np.random.Generator) -> str:
    kind = rng.random()
    letter = lambda: str(rng.choice(list(SIGNS[:26])))  # noqa: E731
    if kind < 0.4:
        return f"{_digits(rng, 2)}{letter()}{_digits(rng, 3)}"
    if kind < 0.6:
        return letter() + _digits(rng, int(rng.integers(2, 5)))
    if kind < 0.8:
        return f"{letter()}{letter()}{_digits(rng, 2)}{letter()}"
    return _digits(rng, int(rng.integers(2, 7)))


@cache
def font_files(folder: Path) -> tuple[Path, ...]:
    """Font files of a folder."""
    return tuple(sorted(p for p in folder.iterdir() if p.suffix.lower() in {".ttf", ".otf"}))


@cache
def _font(file: Path) -> tuple[ImageFont.FreeTypeFont, int, int]:
    """A font whose capitals are `_BIG` high, their top and their bottom."""
    box = ImageFont.truetype(str(file), 100).getbbox("H")
    font = ImageFont.truetype(str(file), max(8, round(100 * _BIG / max(1, box[3] - box[1]))))
    box = font.getbbox("H")
    return font, int(box[1]), int(box[3])


def _typed(text: str, file: Path, spacing: float) -> np.ndarray:
    font, top, _ = _font(file)
    steps = [font.getlength(sign) + spacing * _BIG for sign in text]
    sheet = Image.new("L", (int(sum(steps)) + 2 * _BIG, 2 * _BIG), 0)
    x = float(_BIG) / 2
    for sign, step in zip(text, steps, strict=True):
        ImageDraw.Draw(sheet).text((x, _BIG / 2 - top), sign, font=font, fill=255)
        x += step
    return np.asarray(sheet)


def _needled(text: str, rng: np.random.Generator, spacing: float) -> np.ndarray:
    face, thick = int(rng.choice(NEEDLE)), int(rng.integers(4, 13))
    scale = _BIG / cv2.getTextSize("H", face, 1.0, 1)[0][1]
    steps = [cv2.getTextSize(sign, face, scale, 1)[0][0] + spacing * _BIG for sign in text]
    sheet = np.zeros((2 * _BIG, int(sum(steps)) + 2 * _BIG), np.uint8)
    x = _BIG / 2.0
    for sign, step in zip(text, steps, strict=True):
        cv2.putText(sheet, sign, (round(x), round(1.5 * _BIG)), face, scale, 255, thick, cv2.LINE_AA)
        x += step
    return sheet


def written(text: str, files: tuple[Path, ...], rng: np.random.Generator) -> tuple[np.ndarray, float, float]:
    """Ink (uint8) of a text whose capitals fill the middle half of the rows, and its first and past its last column."""
    spacing = float(rng.uniform(-0.02, 0.22)) if rng.random() < 0.6 else 0.0
    if rng.random() < 0.22:
        ink = _needled(text, rng, spacing)
    else:
        ink = _typed(text, files[rng.integers(len(files))], spacing)
        weight = rng.random()
        if weight < 0.2:
            ink = cv2.dilate(ink, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(rng.integers(2, 8)),) * 2))
        elif weight < 0.3:
            thin = cv2.erode(ink, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(rng.integers(2, 5)),) * 2))
            ink = thin if thin.mean() > 0.5 * ink.mean() else ink
    if rng.random() < 0.15:
        slant = rng.uniform(-0.25, 0.25)
        ink = cv2.warpAffine(ink, np.array([[1, slant, -slant * _BIG], [0, 1, 0]]), ink.shape[::-1])
    if rng.random() < 0.18:
        ink = _dotted(ink, rng)
    if rng.random() < 0.25:
        ink = _worn(ink, rng)
    columns = np.flatnonzero(ink.max(axis=0) > 60)
    if not columns.size:
        return ink, 0.0, float(ink.shape[1])
    return ink, float(columns[0]), float(columns[-1] + 1)


def _dotted(ink: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    pitch = _BIG / float(rng.uniform(5.5, 9.5))
    y, x = np.mgrid[: ink.shape[0], : ink.shape[1]]
    off = np.hypot((y + 0.5) % pitch - pitch / 2, (x + 0.5) % pitch - pitch / 2)
    dots = np.clip(rng.uniform(0.36, 0.48) * pitch - off + 0.5, 0, 1)
    thick = cv2.dilate(ink, np.ones((3, 3), np.uint8))
    return np.asarray(thick * dots, np.uint8)


def _worn(ink: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    coarse = rng.normal(size=(4, max(2, ink.shape[1] // 24))).astype(np.float32)
    patches = cv2.resize(coarse, ink.shape[::-1], interpolation=cv2.INTER_CUBIC)
    keep = np.clip(1.1 + rng.uniform(0.15, 0.5) * patches - rng.uniform(0, 0.4), 0.0, 1.0)
    return np.asarray(ink * keep, np.uint8)


def strip_of(
    files: tuple[Path, ...],
    rng: np.random.Generator,
    *,
    row_mm: float,
    column_mm: float,
    inward: bool,
    texts: tuple[str, ...] = (),
) -> tuple[np.ndarray, list[Placed]]:
    """Ink for one turn (MARK_ROWS, MARK_COLUMNS) uint8, and what stands where.

    ``row_mm`` and ``column_mm``: what a row and a column measure on the part; letters keep their shape but for a pitch.
    ``texts``: what to write; nothing: any. What finds no room is left out.
    """
    strip = np.zeros((MARK_ROWS, MARK_COLUMNS), np.uint8)
    placed: list[Placed] = []
    pitch = float(rng.uniform(*PITCH))
    reduce = CAPITAL_ROWS / _BIG
    gap = 5.5 * CAPITAL_ROWS * row_mm / column_mm
    at, end = float(rng.uniform(0, 0.3 * MARK_COLUMNS)), 0.0
    turn_from = at
    one_face = files if not texts else (files[rng.integers(len(files))],)
    for text in texts or tuple(any_text(rng) for _ in range(rng.integers(2, 6))):
        ink, first, last = written(text, one_face, rng)
        wide = pitch * reduce * row_mm / column_mm
        size = (max(4, round(ink.shape[1] * wide)), round(ink.shape[0] * reduce))
        small = cv2.resize(ink, size, interpolation=cv2.INTER_AREA)
        if at + (last - first) * wide + gap > turn_from + MARK_COLUMNS:
            break
        if inward:
            small = small[::-1, ::-1]
            first, last = ink.shape[1] - last, ink.shape[1] - first
        left = at - first * wide
        columns = (np.arange(small.shape[1]) + round(left)) % MARK_COLUMNS
        rows = slice(MARK_ROWS // 2 - CAPITAL_ROWS, MARK_ROWS // 2 + CAPITAL_ROWS)
        top = max(0, -rows.start)
        high = small[top : top + MARK_ROWS]
        strip[:, columns] = np.maximum(strip[:, columns], high)
        end = at + (last - first) * wide
        placed.append(Placed(text, round(left) + first * wide, round(left) + last * wide))
        at = end + gap * float(1 + rng.exponential(0.6))
    return strip, placed


def as_shown(text: str) -> str:
    """How a text is to be read: capitals, the sign between sizes as ``×``, single spaces."""
    if text.count("x") + text.count("X") >= 2 and any(c.isdigit() for c in text):
        text = text.replace("X", "x")
    return " ".join(text.replace("x", "×").split())


def angle_of(column: float) -> float:
    """Angle (radians, counter-clockwise seen from above) of a column."""
    return -column * 2 * math.pi / MARK_COLUMNS
