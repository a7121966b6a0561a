"""What a comparison with a reference gives. Imports no image library.

Frame: the reference's panel straightened, x to the right, y downward. Photo: the new photo, upright.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.vision.model import Point

DifferenceKind = Literal[
    "text_misspelt",
    "text_differs",
    "letter_shapes_differ",
    "maker_word_differs",
    "element_moved",
    "element_missing",
    "element_added",
    "element_differs",
    "colour_differs",
    "print_poor",
    "code_moved",
    "code_missing",
    "mark_shapes_differ",
]
Aspect = Literal["layout", "text", "colour", "print", "codes", "marks"]


@dataclass(frozen=True, slots=True)
class CodePlace:
    """A code that was decoded, and where."""

    symbology: str
    corners_px: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing in the new photo that is not as in the reference."""

    kind: DifferenceKind
    says: str
    """One sentence: what differs, with its size."""
    outline_frame_px: tuple[Point, ...]
    outline_photo_px: tuple[Point, ...]
    outline_reference_px: tuple[Point, ...] = ()
    """In the reference photo as it was taken; of a moved element, where the reference has it."""
    home_frame_px: tuple[Point, ...] = ()
    """In the frame, where the reference has it."""
    outline_mm: tuple[Point, ...] = ()
    """In the frame, where the reference's size is known; else empty."""
    size: float = 0.0
    unit: Literal["mm", "% of width", "dE00", "times", "correlation"] = "% of width"
    significance: float = 0.0
    """Size over its threshold: 1 is just reported, 2 is plain."""
    ordinary_causes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotJudged:
    """Something that this photo does not show well enough to be compared."""

    aspect: Aspect
    says: str


@dataclass(frozen=True, slots=True)
class Laid:
    """How a photo lies on its reference."""

    photo_from_frame: tuple[tuple[float, float, float], ...]
    """3 × 3 homography from frame px to photo px."""
    matched: int
    """Features that agree."""
    rms_px: float
    """Of what is left between photo and frame after registration, in frame px."""
    scale: float
    """Photo px per frame px."""
    seen_share: float
    """Share of the panel that lies inside the photo."""


@dataclass(frozen=True, slots=True)
class Compared:
    """The outcome of one comparison."""

    laid: Laid | None
    problem: str = ""
    """Why the photo could not be laid over the reference; then nothing is concluded."""
    differences: tuple[Difference, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    explained: tuple[Difference, ...] = ()
    """Differences that another reference shows as well, or that vary from box to box."""
    frame_px: tuple[int, int] = (0, 0)
    """Width and height of the frame."""
    px_per_mm: float | None = None
    likeness: float = 0.0
    """Mean local correlation over the panel, 0 to 1; decides which reference matches best."""


def same_place(one: Difference, other: Difference) -> bool:
    """Whether two differences beside one reference are of a kind and lie on each other (centre inside)."""
    if one.kind != other.kind or not one.outline_frame_px or not other.outline_frame_px:
        return False
    x, y = (sum(p[axis] for p in one.outline_frame_px) / len(one.outline_frame_px) for axis in (0, 1))
    xs, ys = ([p[axis] for p in other.outline_frame_px] for axis in (0, 1))
    return min(xs) <= x <= max(xs) and min(ys) <= y <= max(ys)
