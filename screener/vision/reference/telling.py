"""From what was measured to differences with sentences, outlines and sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np

from screener.vision.reference.colour import LEAST_DELTA_E
from screener.vision.reference.elements import Element, Rect
from screener.vision.reference.layout import LEAST_SHIFT
from screener.vision.reference.letter_shapes import MOST_STRETCH
from screener.vision.reference.model import Difference, DifferenceKind
from screener.vision.reference.print_quality import LEAST_DOTS, LEAST_EXTRA

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Point
    from screener.vision.reference.colour import ColourVerdict
    from screener.vision.reference.layout import Leftover, Standing
    from screener.vision.reference.maker_word import MakerWordVerdict
    from screener.vision.reference.panel import Frame
    from screener.vision.reference.print_quality import PrintVerdict
    from screener.vision.reference.print_text import TextVerdict
    from screener.vision.reference.registering import Registration

Unit = Literal["mm", "% of width", "dE00", "times", "correlation"]
ORDINARY = ("a redesign of the package", "another plant or printer of the same maker")
LOGO = "a redesign of the logo"
FROM_PHOTO = "the photo: bent panel, shadow, glare or blur"
FROM_AGE = "print that has faded or been rubbed"


@dataclass(frozen=True, eq=False)
class Teller:
    """Words and outlines for one comparison."""

    frame: Frame
    laid: Registration

    def moved(self, s: Standing) -> Difference:
        """An element that stands elsewhere."""
        shift = float(np.hypot(s.dx, s.dy))
        size, unit = self.length(shift)
        kind: DifferenceKind = "code_moved" if s.element.kind == "code" else "element_moved"
        says = f"{name_of(s.element)} stands {size:.1f} {unit} from where the reference has it."
        significance = shift / (LEAST_SHIFT * max(self.frame.size_px))
        place = s.element.place.moved(s.dx, s.dy)
        return self._difference(kind, says, place, (size, unit), significance, home=s.element.place)

    def gone(self, s: Standing) -> Difference:
        """An element that is not there."""
        place = s.element.place
        kind: DifferenceKind = "code_missing" if s.element.kind == "code" else "element_missing"
        says = f"{name_of(s.element)} is not where the reference has it, nor near it."
        size = self.length(max(place.width, place.height))
        return self._difference(kind, says, place, size, 1 + (0.6 - s.correlation) * 2)

    def changed(self, s: Standing) -> Difference:
        """A printed element that looks otherwise."""
        says = "A printed element looks unlike the reference."
        away = 1 - s.correlation
        return self._difference("element_differs", says, s.element.place, (away, "correlation"), away / 0.4)

    def text(self, t: TextVerdict) -> Difference:
        """A line printed otherwise."""
        size: tuple[float, Unit] = (t.unlike, "correlation")
        significance = max(1.0, t.unlike / max(t.threshold, 1e-6))
        if t.kind == "shapes":
            says = f"{name_of(t.element)} has other letter shapes or another spacing than the reference."
            return self._difference("letter_shapes_differ", says, t.place, size, significance)
        if t.kind == "misspelt":
            says = f"{name_of(t.element)} of the reference is spelt otherwise here: “{t.read}”."
            return self._difference("text_misspelt", says, t.place, size, significance)
        read = f"; read here: “{t.read}”" if t.read else ""
        says = f"{name_of(t.element)} of the reference is printed otherwise{read}."
        return self._difference("text_differs", says, t.place, size, significance)

    def maker_word(self, m: MakerWordVerdict) -> Difference:
        """The maker's word in another case, length or letter shape."""
        word = f"The maker's word “{m.element.text}”"
        size: tuple[float, Unit] = (1 - m.least, "correlation")
        significance = max(1.0, (1 - m.least) / (1 - m.least_alike))
        if m.how == "case":
            says = f"{word} of the reference is printed in another case here: “{m.read}”."
        elif m.how == "length":
            says = f"{word} is {m.stretch:.2f} times as long as on the reference."
            size, significance = (abs(m.stretch - 1), "times"), abs(m.stretch - 1) / (MOST_STRETCH - 1)
        else:
            says = f"{word} has other letter shapes than on the reference."
        return self._difference(
            "maker_word_differs", says, m.place, size, significance, causes=(LOGO, *ORDINARY[1:], FROM_PHOTO)
        )

    def leftover(self, left: Leftover) -> Difference:
        """Print on one side only."""
        size, unit = self.length(max(left.place.width, left.place.height))
        if left.added:
            says = f"There is print here, {size:.1f} {unit} long, that the reference does not have."
            return self._difference("element_added", says, left.place, (size, unit), left.strength)
        says = f"Print of the reference, {size:.1f} {unit} long, is not here."
        return self._difference("element_missing", says, left.place, (size, unit), left.strength)

    def colour(self, c: ColourVerdict, *, beside_board: bool) -> Difference:
        """An area of another colour; told beside the board where there is nothing white to balance on."""
        was, now = c.reference_lab, c.photo_lab
        shades = _shades(was, now)
        area = "A printed area, beside the board," if beside_board else "A printed area"
        says = f"{area} differs in colour by {c.delta_e:.1f} (CIEDE2000): {shades} than in the reference."
        return self._difference(
            "colour_differs",
            says,
            c.place,
            (c.delta_e, "dE00"),
            c.delta_e / LEAST_DELTA_E,
            causes=(*ORDINARY, FROM_AGE),
        )

    def poor_print(self, v: PrintVerdict) -> list[Difference]:
        """Blurred or dotted print."""
        found = []
        width, height = self.frame.size_px
        if v.extra_blur_px is not None and v.extra_blur_px > LEAST_EXTRA * max(width, height):
            size, unit = self.length(v.extra_blur_px)
            says = f"The print is blurred by about {size:.2f} {unit} more than the photo itself."
            significance = v.extra_blur_px / (LEAST_EXTRA * max(width, height))
            found.append(self._difference("print_poor", says, Rect(0, 0, width, height), (size, unit), significance))
        for place in v.dotted:
            says = f"A solid area of the reference is printed in dots here ({v.dots:.1f} times the usual texture)."
            found.append(self._difference("print_poor", says, place, (v.dots, "times"), v.dots / LEAST_DOTS))
        return found

    def length(self, px: float) -> tuple[float, Unit]:
        """A length in mm where the reference's size is known, else in % of its width."""
        if self.frame.px_per_mm:
            return px / self.frame.px_per_mm, "mm"
        return 100 * px / self.frame.size_px[0], "% of width"

    def _difference(
        self,
        kind: DifferenceKind,
        says: str,
        place: Rect,
        size: tuple[float, Unit],
        significance: float,
        *,
        home: Rect | None = None,
        causes: tuple[str, ...] = (*ORDINARY, FROM_PHOTO),
    ) -> Difference:
        corners = np.array(place.corners, np.float64)
        at_home = np.array((home or place).corners, np.float64)
        reference = cv2.perspectiveTransform(at_home[None], self.frame.reference_from_frame)[0]
        per_mm = self.frame.px_per_mm
        return Difference(
            kind=kind,
            says=says,
            outline_frame_px=place.corners,
            home_frame_px=(home or place).corners,
            outline_photo_px=points_of(self.laid.photo_points(corners)),
            outline_reference_px=points_of(np.asarray(reference, np.float64)),
            outline_mm=points_of(corners / per_mm) if per_mm else (),
            size=round(float(size[0]), 3),
            unit=size[1],
            significance=round(float(significance), 2),
            ordinary_causes=causes,
        )


def name_of(element: Element) -> str:
    """An element at the beginning of a sentence."""
    return element.name[:1].upper() + element.name[1:]


def points_of(points: NDArray[np.float64]) -> tuple[Point, ...]:
    """An n × 2 array as points, to hundredths of a pixel."""
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)


def _shades(was: tuple[float, float, float], now: tuple[float, float, float]) -> str:
    words = []
    if abs(now[0] - was[0]) > 2.5:
        words.append("lighter" if now[0] > was[0] else "darker")
    chroma_was, chroma_now = float(np.hypot(*was[1:])), float(np.hypot(*now[1:]))
    if abs(chroma_now - chroma_was) > 4:
        words.append("more vivid" if chroma_now > chroma_was else "duller")
    turn = (np.degrees(np.arctan2(now[2], now[1]) - np.arctan2(was[2], was[1])) + 180) % 360 - 180
    if min(chroma_was, chroma_now) > 8 and abs(turn) > 5:
        words.append("of another hue")
    return " and ".join(words) or "another shade"
