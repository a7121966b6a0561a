"""What a drawn package is made of. Makers and numbers are invented."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

PX_PER_MM = 14
MAKERS = ("BRENVOK", "TALQUIST", "ORSAMIL", "KEDRUNA", "VELMORT")
PARTS = ("6205-2RS C3", "6004-2Z", "6306 C3", "608-2RS", "6202-2RSR", "6310-2Z C3")
SENTENCES = (
    "Deep groove ball bearing",
    "Keep dry and in original wrapping",
    "Protect from shock and moisture",
    "Do not open before mounting",
    "Quality controlled at the factory",
    "Store lying flat in a cool place",
)
Rgb = tuple[int, int, int]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Element:
    """One thing printed: place and size in mm from the panel's top left."""

    name: str
    kind: str
    """text, rect, disc, ring, linear, matrix; badge, frame, triangle, drop, stripes."""
    x: float
    y: float
    w: float = 0.0
    h: float = 0.0
    text: str = ""
    rgb: Rgb = (22, 22, 24)
    face: str = "plain"
    """plain, other, or the file of a type face below /usr/share/fonts/truetype ; without it, the plain one."""
    turn: int = 0
    """Degrees counter-clockwise, 0, 90 or 270: text that runs up or down."""
    bare: bool = False
    """Of a code: printed on the board itself, not on a white patch."""
    wide: float = 0.0
    """Of text: width in mm that it is drawn to; 0 as the type face has it."""
    variable: bool = False
    """Batch, date, serial: differs from box to box."""


@dataclass(frozen=True)
class Package:
    """A panel."""

    width: float
    height: float
    paper: Rgb
    elements: tuple[Element, ...]
    maker: str
    product: str
    print_blur_mm: float = 0.0
    dots_mm: float = 0.0
    roles: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """For each kind of planted difference the names of the elements that may carry it; empty for the carton's own."""

    def may_carry(self, kind: str, otherwise: tuple[str, ...]) -> list[str]:
        """Names of the elements that may carry a kind of difference."""
        return [n for n in dict(self.roles).get(kind, otherwise) if any(e.name == n for e in self.elements)]

    def named(self, name: str) -> Element:
        """The element of a name."""
        return next(e for e in self.elements if e.name == name)

    def having(self, element: Element) -> Package:
        """The package with one element replaced."""
        return replace(self, elements=tuple(element if e.name == element.name else e for e in self.elements))

    def without(self, name: str) -> Package:
        """The package with one element left out."""
        return replace(self, elements=tuple(e for e in self.elements if e.name != name))


@dataclass(frozen=True)
class Planted:
    """A package with a planted difference: its kind and where it is to be seen (mm on the panel, x y w h)."""

    package: Package
    kind: str
    boxes: tuple[Box, ...]
    kinds_accepted: frozenset[str]


@dataclass
class Shot:
    """One photograph."""

    rgb: NDArray[np.uint8]
    panel_to_photo: NDArray[np.float64]
    """3 x 3 from mm on the panel to photo px (lens distortion left out: at most a few px)."""
    jpeg: bytes = field(repr=False, default=b"")


def band_colour(rng: np.random.Generator) -> Rgb:
    choices = ((20, 60, 120), (150, 28, 30), (15, 90, 70), (230, 150, 20), (90, 40, 110), (40, 110, 160), (200, 60, 30))
    return choices[int(rng.integers(len(choices)))]


def variable(rng: np.random.Generator) -> tuple[str, str]:
    letter = "ABHKT"[int(rng.integers(5))]
    return f"{letter}{rng.integers(10000, 99999)}", f"{rng.integers(2023, 2026)}-{rng.integers(1, 13):02d}"
