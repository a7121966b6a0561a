"""What stands on a reference panel: lines of text, codes, and other print, each with its place in the frame."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np

from screener.parts import explain

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point
    from screener.vision.reference.model import CodePlace
    from screener.vision.text_engine import TextEngine

ElementKind = Literal["text", "code", "graphic"]
LEAST_TEXT_SCORE = 0.7
_VALUE_KEYS = re.compile(
    r"(batch|lot|charge|los|lotto|serial|s/?n|ser|date|datum|data|packed|mfg|prod|exp|qty|quantity|menge)[.:]*",
    re.IGNORECASE,
)
_MONTHS = re.compile(r"\b(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\b", re.IGNORECASE)
_SCAN_LINE = 0.25
"""Sides of a code's place below which it is taken for a scan line; matrices are squarer."""
_SAME_BARS = 0.75
_TOKEN = re.compile(r"[^\s:]+:?")


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle in the frame, px; right and bottom are one past the last pixel."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        """Across."""
        return self.right - self.left

    @property
    def height(self) -> int:
        """Down."""
        return self.bottom - self.top

    @property
    def corners(self) -> tuple[Point, ...]:
        """Clockwise from the top left."""
        left, top, right, bottom = (float(v) for v in (self.left, self.top, self.right, self.bottom))
        return (left, top), (right, top), (right, bottom), (left, bottom)

    def grown(self, by: int, size_px: tuple[int, int]) -> Rect:
        """With a margin, as far as the frame goes."""
        return Rect(
            max(0, self.left - by),
            max(0, self.top - by),
            min(size_px[0], self.right + by),
            min(size_px[1], self.bottom + by),
        )

    def moved(self, dx: float, dy: float) -> Rect:
        """Shifted, to whole pixels."""
        return Rect(round(self.left + dx), round(self.top + dy), round(self.right + dx), round(self.bottom + dy))

    def overlap(self, other: Rect) -> float:
        """Share of this rectangle that the other covers."""
        w = min(self.right, other.right) - max(self.left, other.left)
        h = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0, w) * max(0, h) / max(1, self.width * self.height)

    def cut(self, image: NDArray[np.generic]) -> NDArray[np.generic]:
        """The rectangle of an image."""
        return image[self.top : self.bottom, self.left : self.right]


@dataclass(frozen=True, slots=True)
class Element:
    """One thing printed on the reference."""

    kind: ElementKind
    place: Rect
    text: str = ""
    score: float = 1.0
    free: tuple[Rect, ...] = ()
    """Parts of it that are free to differ from box to box: batch, serial, date."""
    across: bool = False
    """Text that runs up or down."""

    @property
    def name(self) -> str:
        """How a sentence calls it."""
        if self.kind == "text":
            return f"the text “{self.text}”"
        return "the code" if self.kind == "code" else "a printed element"

    @property
    def all_free(self) -> bool:
        """Nothing of it is fixed."""
        return bool(self.free) and sum(r.width for r in self.free) > 0.8 * self.place.width


def find_elements(
    frame: NDArray[np.uint8],
    engine: TextEngine | None,
    codes: Sequence[CodePlace],
    inner: NDArray[np.bool_],
    product: str = "",
) -> tuple[Element, ...]:
    """List a panel's elements.

    Parameters
    ----------
    frame
        (H, W, 3) uint8.
    engine
        Text detector and recogniser; without it text counts as other print.
    codes
        Codes with their corners in frame px.
    inner
        (H, W): the frame without its rim.
    product
        Designation of what is in the package, if known: then no other number is taken for it.
    """
    size = (frame.shape[1], frame.shape[0])
    coded = [_code(frame, code, size) for code in codes]
    texts = [e for e in _texts(frame, engine, product) if not any(e.place.overlap(c.place) > 0.6 for c in coded)]
    taken = [*coded, *texts]
    rest = [r for r in _printed(frame, inner) if not any(r.overlap(e.place.grown(4, size)) > 0.5 for e in taken)]
    return (*texts, *coded, *(Element("graphic", r) for r in rest))


def _code(frame: NDArray[np.uint8], code: CodePlace, size: tuple[int, int]) -> Element:
    """A code where its bars or cells really end: readers of linear codes give the corners of a scan line."""
    corners = np.array(code.corners_px)
    left, top = np.floor(corners.min(axis=0)).astype(int)
    right, bottom = np.ceil(corners.max(axis=0)).astype(int) + 1
    place = Rect(max(0, int(left)), max(0, int(top)), min(size[0], int(right)), min(size[1], int(bottom)))
    thick, long = sorted((place.width, place.height))
    if thick < _SCAN_LINE * long:
        place = _whole_bars(np.asarray(cv2.cvtColor(frame, cv2.COLOR_RGB2GRAY), np.float32), place)
    return Element("code", place, code.symbology, free=(place,))


def _whole_bars(gray: NDArray[np.float32], line: Rect) -> Rect:
    """The bars that a scan line crosses, from end to end: as far as rows beside it look like it."""
    if line.height > line.width:
        turned = _whole_bars(np.ascontiguousarray(gray.T), Rect(line.top, line.left, line.bottom, line.right))
        return Rect(turned.top, turned.left, turned.bottom, turned.right)
    rows = gray[:, line.left : line.right] - gray[:, line.left : line.right].mean(axis=1, keepdims=True)
    known = rows[line.top : line.bottom].mean(axis=0)
    alike = rows @ known / (np.linalg.norm(rows, axis=1) * np.linalg.norm(known) + 1e-6)
    same = (alike > _SAME_BARS) & (rows.std(axis=1) > 0.5 * float(known.std()))
    top, bottom = line.top, line.bottom
    while top > 0 and same[max(0, top - 3) : top].any():
        top -= 1
    while bottom < len(same) and same[bottom : bottom + 3].any():
        bottom += 1
    return Rect(line.left, top, line.right, bottom)


def _texts(frame: NDArray[np.uint8], engine: TextEngine | None, product: str) -> list[Element]:
    if engine is None:
        return []
    size, found = (frame.shape[1], frame.shape[0]), []
    for line in engine.read_page(frame, max_side_px=1000):
        xs, ys = [x for x, _ in line.quad_px], [y for _, y in line.quad_px]
        place = Rect(
            max(0, int(min(xs))), max(0, int(min(ys))), min(size[0], int(max(xs)) + 1), min(size[1], int(max(ys)) + 1)
        )
        if line.score < LEAST_TEXT_SCORE or place.width < 6 or place.height < 6 or not re.search(r"[^\W_]", line.text):
            continue
        across = place.height > 1.5 * place.width and len(line.text) > 2
        element = Element("text", place, line.text, line.score, across=across)
        found.append(replace(element, free=_free_parts(element, frame, engine, product)))
    return found


def free_spans(text: str, product: str = "") -> list[tuple[int, int]]:
    """Spans of a line that are free to differ from box to box.

    Numbers with two digits or more, unless they are the designation; months; what follows a word such as *Batch*. A
    batch number can be spelt like some designation: where the product is known, only its own counts as one.
    """
    spans = []
    after_key, fixed = False, _designates(text, product)
    for match in _TOKEN.finditer(text):
        bare = match.group().strip(".,;:()")
        digits = sum(c.isdigit() for c in bare)
        numbered = digits >= 2 and not (fixed or _designates(bare, product))
        if numbered or (after_key and digits) or _MONTHS.fullmatch(bare):
            spans.append(match.span())
        # "Lot no. A12": the small word between key and value does not end the key's reach.
        is_key = bool(_VALUE_KEYS.fullmatch(match.group()))
        after_key = is_key or (after_key and bare.lower() in {"", "no", "nr", "#", "code", "number"})
    return spans


def _designates(text: str, product: str) -> bool:
    told = explain(text)
    return told.understood and (not product or told.basic == explain(product).basic)


def letters_of(text: str) -> str:
    """The letters of the fixed words of a line, in capitals: what a misspelling shows in."""
    kept = list(text)
    for start, end in free_spans(text):
        kept[start:end] = " " * (end - start)
    return "".join(c for c in "".join(kept).upper() if c.isalnum())


def _free_parts(element: Element, frame: NDArray[np.uint8], engine: TextEngine, product: str) -> tuple[Rect, ...]:
    spans = free_spans(element.text, product)
    if not spans or element.across:
        return (element.place,) if spans else ()
    xs = _letter_places(element, frame, engine)
    pad = round(0.35 * element.place.height)
    parts = []
    for start, end in spans:
        left = (xs[start - 1] + xs[start]) / 2 if start else element.place.left - pad
        right = (xs[end - 1] + xs[end]) / 2 if end < len(xs) else element.place.right + 3 * element.place.height
        parts.append(
            Rect(
                int(left) - 2,
                element.place.top - pad // 2,
                min(frame.shape[1], int(right) + 2),
                element.place.bottom + pad // 2,
            )
        )
    return tuple(parts)


def _letter_places(element: Element, frame: NDArray[np.uint8], engine: TextEngine) -> list[float]:
    """Middle of each character of a line (frame px): as the recogniser saw them, else evenly spread."""
    crop = element.place.cut(frame)
    alphabet = "".join(dict.fromkeys(element.text.upper() + " "))
    text, _, xs = engine.recognise_lattice([np.ascontiguousarray(crop).astype(np.uint8)], alphabet=alphabet)[0].best()
    if text == element.text.upper():
        return [element.place.left + x for x in xs]
    step = element.place.width / max(1, len(element.text))
    return [element.place.left + (i + 0.5) * step for i in range(len(element.text))]


def _printed(frame: NDArray[np.uint8], inner: NDArray[np.bool_] | None) -> list[Rect]:
    """Other print: connected groups of edges. What touches the panel's rim (bands, frames) is no element of its own."""
    gray = cv2.GaussianBlur(cv2.cvtColor(frame, cv2.COLOR_RGB2GRAY), (0, 0), 1.0).astype(np.float32)
    lab = cv2.cvtColor(cv2.GaussianBlur(frame, (0, 0), 1.0), cv2.COLOR_RGB2LAB).astype(np.float32)
    edge = np.zeros(gray.shape, np.float32)
    for plane in (gray, lab[..., 1], lab[..., 2]):
        edge = np.maximum(edge, np.hypot(cv2.Sobel(plane, cv2.CV_32F, 1, 0), cv2.Sobel(plane, cv2.CV_32F, 0, 1)))
    mask = (edge > max(50.0, 0.18 * float(np.percentile(edge, 99.5)))).astype(np.uint8)
    if inner is not None:
        mask[~inner] = 0
    join = max(3, round(0.006 * max(gray.shape)) | 1)
    joined = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((join, join), np.uint8))
    return _boxes(np.asarray(joined, np.uint8), max(gray.shape))


def _boxes(mask: NDArray[np.uint8], side: int) -> list[Rect]:
    _, _, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    boxes = []
    for left, top, width, height, _area in stats[1:]:
        least, most = 0.012 * side, 0.45 * side
        if max(width, height) >= least and min(width, height) >= 0.005 * side and max(width, height) <= most:
            boxes.append(Rect(int(left), int(top), int(left + width), int(top + height)))
    # The inside of a ring is no second element.
    return [r for r in boxes if not any(o is not r and r.overlap(o) > 0.85 for o in boxes)]


def covered(rects: Iterable[Rect], shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Mask of rectangles."""
    mask = np.zeros(shape[:2], np.bool_)
    for r in rects:
        mask[max(0, r.top) : max(0, r.bottom), max(0, r.left) : max(0, r.right)] = True
    return mask
