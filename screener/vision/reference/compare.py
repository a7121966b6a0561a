"""One photo against one reference: registration, light, then each aspect; differences with outlines and sizes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.colour import LEAST_DELTA_E, Colours, ColourVerdict, compare_colours
from screener.vision.reference.elements import Element, Rect, find_elements
from screener.vision.reference.layout import Leftover, Standing, leftovers, standings
from screener.vision.reference.light import Matched, match_light
from screener.vision.reference.maker_word import maker_words_otherwise
from screener.vision.reference.model import Compared, Laid, NotJudged
from screener.vision.reference.panel import Frame, around_print, hull_of, inner_mask, straighten
from screener.vision.reference.print_quality import PrintVerdict, judge_print
from screener.vision.reference.print_text import LineShape, TextVerdict, differing_text, line_shapes
from screener.vision.reference.registering import NotLaidError, Registration, register
from screener.vision.reference.telling import Teller

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point
    from screener.vision.reference.model import CodePlace
    from screener.vision.text_engine import TextEngine

_LEAST_FRAME_SCALE = 0.85
_LEAST_SIDE_PX = 420
LEAST_IN_PLACE = 0.6
"""Share of the reference's elements that must be in place; else it is another design, and nothing is concluded. Of 30
drawn packages of other products on one maker's grid 0.5 at most were in place, of the same product all."""
OTHER_DESIGN = (
    "another product's package, another side of it or another layout, for much of the print is not where the reference "
    "has it: not compared."
)
_LEAST_PRINTED = 3
_SURE_LETTERS = 0.8
NO_PANEL = (
    "neither the outline of the package nor enough print is found on the reference: retire it, and add a photo that "
    "shows the whole panel, or say where it lies with --corners."
)
TOO_LITTLE_SEEN = "most of the reference's print is outside this photo, burnt out or faint: another side or product?"
_NOISY, _OVER_DOTS = 10.0, 0.0028
"""Noise (grey levels) that coarse dots make, and the blur, of the longest side, under which they run together."""
MOST_BLUR = 0.0038
"""Blur of the photo itself, of the panel's longest side (0.38 mm on 100 mm), from which nothing is concluded."""
TOO_BLURRED = "the photo is too blurred to be compared: rest the phone, tap on the panel to focus, take it again."
_UNLIKE = 0.6
_SURELY_IN_PLACE = 0.97
BOARD_ITSELF = "the colour of the board itself: the panel has nothing white to balance it on."


@dataclass(frozen=True, eq=False)
class Reference:
    """A reference made ready: its frame and what stands on it."""

    photo: NDArray[np.uint8]
    """As it was taken, (H, W, 3)."""
    frame: Frame
    elements: tuple[Element, ...]


def prepare(
    rgb: NDArray[np.uint8],
    engine: TextEngine | None,
    read_codes: Callable[[NDArray[np.uint8]], Sequence[CodePlace]],
    *,
    corners_px: Sequence[Point] = (),
    width_mm: float | None = None,
    product: str = "",
) -> Reference:
    """Make a reference photo ready for comparisons.

    Parameters
    ----------
    rgb
        The upright photo, (H, W, 3) uint8.
    engine
        Text detector and recogniser.
    read_codes
        Finds codes in a grey picture (H, W) uint8.
    corners_px, width_mm
        As for `panel.straighten`. Without an outline in the photo the panel is what surrounds the print.
    product
        Designation of what is in the package, as for `find_elements`.
    """
    frame = straighten(rgb, corners_px=corners_px, width_mm=width_mm)
    elements = _elements_on(frame, engine, read_codes, product)
    if not frame.outlined and len(_printed(elements)) >= _LEAST_PRINTED:
        # The panel's edge was not found: what is compared ends where the print ends, or the bench would be judged.
        around = around_print(frame, _printed(elements))
        frame = straighten(rgb, corners_px=[(float(x), float(y)) for x, y in around])
        elements = _elements_on(frame, engine, read_codes, product)
        frame = replace(frame, print_hull=hull_of(_printed(elements) or [(0, 0, *frame.size_px)]))
        inside = inner_mask(frame)
        elements = tuple(e for e in elements if _is_print(e) or inside[_middle(e)])
    return Reference(rgb, frame, elements)


def _elements_on(
    frame: Frame,
    engine: TextEngine | None,
    read_codes: Callable[[NDArray[np.uint8]], Sequence[CodePlace]],
    product: str,
) -> tuple[Element, ...]:
    codes = read_codes(np.asarray(cv2.cvtColor(frame.rgb, cv2.COLOR_RGB2GRAY), np.uint8))
    return find_elements(frame.rgb, engine, codes, inner_mask(frame), product)


def _printed(elements: Sequence[Element]) -> list[tuple[float, float, float, float]]:
    places = [e.place for e in elements if _is_print(e)]
    return [(r.left, r.top, r.right, r.bottom) for r in places]


def _middle(element: Element) -> tuple[int, int]:
    place = element.place
    return (place.top + place.bottom) // 2, (place.left + place.right) // 2


def _is_print(element: Element) -> bool:
    """Whether it is letters or a code for sure; a bench's grain is neither."""
    if element.kind == "text":
        return element.score >= _SURE_LETTERS and sum(letter.isalnum() for letter in element.text) >= 3
    return element.kind == "code"


def compare(reference: Reference, photo: NDArray[np.uint8], engine: TextEngine | None) -> Compared:
    """Compare a photo with a reference.

    Parameters
    ----------
    reference
        As `prepare` makes it.
    photo
        Upright, (H, W, 3) uint8.
    engine
        For reading text; without it only letter shapes are compared.
    """
    if not reference.frame.outlined:
        return Compared(None, NO_PANEL, frame_px=reference.frame.size_px)
    try:
        laid = register(reference.frame, photo)
    except NotLaidError as reason:
        return Compared(None, str(reason), frame_px=reference.frame.size_px)
    return _Bench.set_up(reference, photo, laid).judged(engine)


@dataclass(frozen=True, eq=False)
class _Bench:
    """Everything that the aspects of one comparison share."""

    reference: NDArray[np.uint8]
    frame: Frame
    elements: tuple[Element, ...]
    laid: Registration
    photo: NDArray[np.uint8]
    flat: NDArray[np.uint8]
    matched: Matched

    @classmethod
    def set_up(cls, reference: Reference, photo: NDArray[np.uint8], laid: Registration) -> _Bench:
        frame, elements = reference.frame, reference.elements
        if laid.scale < _LEAST_FRAME_SCALE:
            frame = frame.shrunk(max(_LEAST_SIDE_PX, round(max(frame.size_px) * laid.scale / _LEAST_FRAME_SCALE)))
            elements = tuple(_scaled(e, frame.size_px[0] / reference.frame.size_px[0]) for e in elements)
            laid = laid.shrunk(frame.size_px)
        flat, seen = laid.warp(photo)
        matched = match_light(frame.rgb, flat, seen & inner_mask(frame))
        if matched.noise > _NOISY:
            sigma = _OVER_DOTS * max(frame.size_px)
            soft = [np.asarray(cv2.GaussianBlur(rgb, (0, 0), sigma), np.uint8) for rgb in (frame.rgb, flat)]
            matched = match_light(soft[0], soft[1], seen & inner_mask(frame))
        return cls(reference.photo, frame, elements, laid, photo, flat, matched)

    def judged(self, engine: TextEngine | None) -> Compared:
        """Every aspect, in turn."""
        standing = standings(self.elements, self.matched)
        told = [s for s in standing if s.state != "cannot be told"]
        likeness = float(np.mean([s.correlation for s in told])) if told else 0.0
        teller = Teller(self.frame, self.laid)
        quality = judge_print(self.frame, self.reference, self.photo, self.laid, self.flat, self.matched)
        if 2 * len(told) < len(standing):
            return Compared(self._laid(), TOO_LITTLE_SEEN, frame_px=self.frame.size_px, likeness=likeness)
        if len(told) >= 4 and sum(s.state == "in place" for s in told) < LEAST_IN_PLACE * len(told):
            return Compared(self._laid(), OTHER_DESIGN, frame_px=self.frame.size_px, likeness=likeness)
        if quality.own_blur_px > MOST_BLUR * max(self.frame.size_px):
            return Compared(self._laid(), TOO_BLURRED, frame_px=self.frame.size_px, likeness=likeness)
        colours = compare_colours(self.frame.rgb, self.flat, self.matched.judged, self.matched.reference_blur_px)
        shapes = line_shapes([s for s in told if s.state != "gone"], self.matched, self.laid.scale)
        quality = replace(quality, dotted=tuple(r for r in quality.dotted if not self._between_letters(r)))
        poor = teller.poor_print(quality)
        texts = differing_text(shapes, self.flat, engine, even_print=not poor)
        there = [s for s in told if s.state != "gone"]
        makers = () if poor else maker_words_otherwise(there, texts, self.matched, self.laid.scale)
        texts = tuple(t for t in texts if not any(m.element is t.element for m in makers))
        moved = [s for s in told if s.state == "moved" and not _is_text_change(s, texts, shapes)]
        texts = tuple(t for t in texts if not any(s.element is t.element for s in moved))
        gone = [s for s in told if s.state == "gone"]
        changed = [s for s in told if s.state == "changed" and s.element.kind == "graphic" and s.correlation < _UNLIKE]
        otherwise = [*(t.element.place for t in texts), *(m.place for m in makers)]
        left = self._left_over([*moved, *gone, *changed], otherwise, quality)
        left = tuple(one for one in left if one.added or not _of_a_line_in_place(one, told))
        return Compared(
            laid=self._laid(),
            differences=(
                *map(teller.maker_word, makers),
                *map(teller.text, texts),
                *map(teller.gone, gone),
                *map(teller.moved, moved),
                *map(teller.changed, changed),
                *map(teller.leftover, left),
                *(
                    teller.colour(c, beside_board=colours.beside_board)
                    for c in self._own_colours(colours, [*moved, *gone, *changed], otherwise)
                    if c.delta_e >= LEAST_DELTA_E
                ),
                *poor,
            ),
            not_judged=self._not_judged(len(standing) - len(told), len(shapes), colours, quality),
            frame_px=self.frame.size_px,
            px_per_mm=self.frame.px_per_mm,
            likeness=likeness,
        )

    def _between_letters(self, place: Rect) -> bool:
        """Whether a solid area lies within a line: other letters look like dots there."""
        return any(e.kind == "text" and place.overlap(e.place) > 0.5 for e in self.elements)

    def _own_colours(
        self, colours: Colours, standing: Sequence[Standing], texts: Sequence[Rect]
    ) -> list[ColourVerdict]:
        """Areas that are no part of what was said already: between other letters there is another colour."""
        said = [*(s.element.place for s in standing), *texts]
        return [c for c in colours.areas if not any(c.place.overlap(place) > 0.5 for place in said)]

    def _left_over(
        self, standing: Sequence[Standing], texts: Sequence[Rect], quality: PrintVerdict
    ) -> tuple[Leftover, ...]:
        """Print on one side only, outside of what was said already and of what differs from box to box."""
        size = self.frame.size_px
        margin = round(0.012 * max(size))
        accounted = [r for e in self.elements for r in e.free]
        accounted += [place.grown(margin, size) for place in texts]
        accounted += [s.element.place.grown(margin, size) for s in standing]
        accounted += [s.element.place.moved(s.dx, s.dy).grown(margin, size) for s in standing]
        accounted += list(quality.dotted)
        return leftovers(self.matched, accounted)

    def _laid(self) -> Laid:
        r = self.laid
        rows = tuple((float(a), float(b), float(c)) for a, b, c in r.photo_from_frame)
        return Laid(
            (rows[0], rows[1], rows[2]), r.matched, round(r.rms_px, 3), round(r.scale, 3), round(r.seen_share, 3)
        )

    def _not_judged(self, hidden: int, lines: int, colours: Colours, quality: PrintVerdict) -> tuple[NotJudged, ...]:
        gaps = []
        if hidden:
            says = f"{hidden} of {len(self.elements)} elements are outside the photo, burnt out or too faint."
            gaps.append(NotJudged("layout", says))
        if not lines and any(e.kind == "text" for e in self.elements):
            gaps.append(NotJudged("text", "the letters are too small in the photo to compare their shapes."))
        if colours.problem:
            gaps.append(NotJudged("colour", colours.problem))
        if colours.beside_board:
            gaps.append(NotJudged("colour", BOARD_ITSELF))
        if quality.says_not_judged:
            gaps.append(NotJudged("print", quality.says_not_judged))
        return tuple(gaps)


def _of_a_line_in_place(left: Leftover, standing: Sequence[Standing]) -> bool:
    """Whether print that seems to lack is a line that stands where it should, only softer: letters are judged apart."""
    lines = [s for s in standing if s.element.kind == "text" and s.state == "in place"]
    return any(s.correlation >= _SURELY_IN_PLACE and left.place.overlap(s.element.place) > 0.5 for s in lines)


def _is_text_change(s: Standing, texts: Sequence[TextVerdict], shapes: Sequence[LineShape]) -> bool:
    """Whether a line of text that fits better elsewhere has in truth lost or gained letters.

    Then a part of it stays in place, or it reads otherwise.
    """
    if s.element.kind != "text":
        return False
    if any(t.element is s.element and t.reads_otherwise for t in texts):
        return True
    mine = next((shape.unlike for shape in shapes if shape.element is s.element), ())
    return len(mine) >= 3 and sum(u < 0.25 for u in mine) >= 0.25 * len(mine)


def _scaled(element: Element, factor: float) -> Element:
    def rect(r: Rect) -> Rect:
        return Rect(*(round(v * factor) for v in (r.left, r.top, r.right, r.bottom)))

    return Element(
        element.kind,
        rect(element.place),
        element.text,
        element.score,
        tuple(rect(r) for r in element.free),
        element.across,
    )
