"""One photo against one reference: registration, light, then each aspect; differences with outlines and sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.elements import Element, Rect, find_elements
from screener.vision.reference.layout import LEAST_SHIFT, Leftover, Standing, leftovers, standings
from screener.vision.reference.light import Matched, match_light
from screener.vision.reference.model import Compared, Difference, DifferenceKind, Laid, NotJudged
from screener.vision.reference.panel import Frame, inner_mask, straighten
from screener.vision.reference.print_text import TextVerdict, differing_text, line_shapes
from screener.vision.reference.registering import NotLaidError, Registration, register

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point
    from screener.vision.reference.model import CodePlace
    from screener.vision.text_engine import TextEngine

_LEAST_FRAME_SCALE = 0.85
_LEAST_SIDE_PX = 420
ORDINARY = ("a redesign of the package", "another plant or printer of the same maker")
FROM_PHOTO = "the photo: bent panel, shadow, glare or blur"


@dataclass(frozen=True, eq=False)
class Reference:
    """A reference made ready: its frame and what stands on it."""

    frame: Frame
    elements: tuple[Element, ...]


def prepare(
    rgb: NDArray[np.uint8],
    engine: TextEngine | None,
    read_codes: Callable[[NDArray[np.uint8]], Sequence[CodePlace]],
    *,
    corners_px: Sequence[Point] = (),
    width_mm: float | None = None,
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
        As for `panel.straighten`.
    """
    frame = straighten(rgb, corners_px=corners_px, width_mm=width_mm)
    codes = read_codes(np.asarray(cv2.cvtColor(frame.rgb, cv2.COLOR_RGB2GRAY), np.uint8))
    return Reference(frame, find_elements(frame.rgb, engine, codes, inner_mask(frame)))


def compare(
    reference: Reference, photo: NDArray[np.uint8], engine: TextEngine | None, *, others: Sequence[Reference] = ()
) -> Compared:
    """Compare a photo with a reference.

    Parameters
    ----------
    reference
        As `prepare` makes it.
    photo
        Upright, (H, W, 3) uint8.
    engine
        For reading text; without it only letter shapes are compared.
    others
        Further references of the same product: what they differ in among themselves is no finding.
    """
    try:
        laid = register(reference.frame, photo)
    except NotLaidError as reason:
        return Compared(None, str(reason), frame_px=reference.frame.size_px)
    bench = _Bench.set_up(reference, photo, laid)
    return bench.judged(engine, others)


@dataclass(frozen=True, eq=False)
class _Bench:
    """Everything that the aspects of one comparison share."""

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
        return cls(frame, elements, laid, photo, flat, matched)

    def judged(self, engine: TextEngine | None, others: Sequence[Reference]) -> Compared:
        standing = standings(self.elements, self.matched)
        shapes = line_shapes(
            [s.element for s in standing if s.state in {"in place", "changed"}], self.matched, self.laid.scale
        )
        texts = differing_text(shapes, self.flat, self.matched, engine)
        found = [d for s in standing if (d := self._of_standing(s, texts)) is not None]
        found += [self._of_text(t) for t in texts]
        found += self._of_leftovers(standing, texts)
        likeness = [s.correlation for s in standing if s.state != "cannot be told"]
        return Compared(
            laid=self._laid(),
            differences=tuple(found),
            not_judged=self._not_judged(standing, len(shapes)),
            frame_px=self.frame.size_px,
            px_per_mm=self.frame.px_per_mm,
            likeness=float(np.mean(likeness)) if likeness else 0.0,
        )

    # Findings of each aspect

    def _of_standing(self, s: Standing, texts: Sequence[TextVerdict]) -> Difference | None:
        e = s.element
        if s.state == "moved":
            size, unit = self._length(float(np.hypot(s.dx, s.dy)))
            kind: DifferenceKind = "code_moved" if e.kind == "code" else "element_moved"
            says = f"{_capital(e.name)} stands {size:.1f} {unit} from where the reference has it."
            significance = float(np.hypot(s.dx, s.dy)) / (LEAST_SHIFT * max(self.frame.size_px))
            return self._difference(kind, says, e.place.moved(s.dx, s.dy), size, unit, significance)
        if s.state == "gone":
            size, unit = self._length(float(max(e.place.width, e.place.height)))
            kind = "code_missing" if e.kind == "code" else "element_missing"
            says = f"{_capital(e.name)} is not where the reference has it, nor near it."
            return self._difference(kind, says, e.place, size, unit, 1 + (0.6 - s.correlation) * 2)
        if s.state == "changed" and e.kind == "graphic" and s.correlation < 0.6:
            says = "A printed element looks unlike the reference."
            return self._difference(
                "element_differs", says, e.place, 1 - s.correlation, "correlation", (1 - s.correlation) / 0.4
            )
        return None

    def _of_text(self, t: TextVerdict) -> Difference:
        significance = t.unlike / max(t.threshold, 1e-6)
        if t.kind == "shapes":
            says = f"{_capital(t.element.name)} has other letter shapes or another spacing than the reference."
            return self._difference("letter_shapes_differ", says, t.place, t.unlike, "correlation", significance)
        read = f"; read here: “{t.read}”" if t.read else ""
        says = f"{_capital(t.element.name)} of the reference is printed otherwise{read}."
        return self._difference("text_differs", says, t.place, t.unlike, "correlation", significance)

    def _of_leftovers(self, standing: Sequence[Standing], texts: Sequence[TextVerdict]) -> list[Difference]:
        accounted = [r for e in self.elements for r in e.free]
        accounted += [t.element.place.grown(round(0.012 * max(self.frame.size_px)), self.frame.size_px) for t in texts]
        for s in standing:
            if s.state in {"moved", "gone"} or (s.state == "changed" and s.element.kind != "text"):
                margin = round(0.012 * max(self.frame.size_px))
                accounted.append(s.element.place.grown(margin, self.frame.size_px))
                accounted.append(s.element.place.moved(s.dx, s.dy).grown(margin, self.frame.size_px))
        found = []
        for left in leftovers(self.matched, accounted):
            size, unit = self._length(float(max(left.place.width, left.place.height)))
            found.append(self._of_leftover(left, size, unit))
        return found

    def _of_leftover(self, left: Leftover, size: float, unit: str) -> Difference:
        kind: DifferenceKind = "element_added" if left.added else "element_missing"
        says = (
            f"There is print here, {size:.1f} {unit} long, that the reference does not have."
            if left.added
            else f"Print of the reference, {size:.1f} {unit} long, is not here."
        )
        return self._difference(kind, says, left.place, size, unit, left.strength)

    # Forms

    def _difference(
        self, kind: DifferenceKind, says: str, place: Rect, size: float, unit: str, significance: float
    ) -> Difference:
        corners = np.array(place.corners, np.float64)
        reference = cv2.perspectiveTransform(corners[None], self.frame.reference_from_frame)[0]
        per_mm = self.frame.px_per_mm
        return Difference(
            kind=kind,
            says=says,
            outline_frame_px=place.corners,
            outline_photo_px=_points(self.laid.photo_points(corners)),
            outline_reference_px=_points(reference),
            outline_mm=_points(corners / per_mm) if per_mm else (),
            size=round(size, 3),
            unit=unit,  # type: ignore[arg-type]
            significance=round(significance, 2),
            ordinary_causes=(*ORDINARY, FROM_PHOTO),
        )

    def _length(self, px: float) -> tuple[float, str]:
        if self.frame.px_per_mm:
            return px / self.frame.px_per_mm, "mm"
        return 100 * px / self.frame.size_px[0], "% of width"

    def _laid(self) -> Laid:
        r = self.laid
        rows = tuple((float(a), float(b), float(c)) for a, b, c in r.photo_from_frame)
        return Laid(
            (rows[0], rows[1], rows[2]), r.matched, round(r.rms_px, 3), round(r.scale, 3), round(r.seen_share, 3)
        )

    def _not_judged(self, standing: Sequence[Standing], lines: int) -> tuple[NotJudged, ...]:
        gaps = []
        hidden = sum(s.state == "cannot be told" for s in standing)
        if hidden:
            gaps.append(
                NotJudged(
                    "layout", f"{hidden} of {len(standing)} elements are outside the photo, burnt out or too faint."
                )
            )
        if not lines and any(e.kind == "text" for e in self.elements):
            gaps.append(NotJudged("text", "the letters are too small in the photo to compare their shapes."))
        return tuple(gaps)


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


def _points(points: NDArray[np.float64]) -> tuple[Point, ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
