"""What the eye reports: immutable records of things seen in one photo. Imports no image library.

Pixels are those of the upright photo (EXIF orientation applied), x to the right, y downward.
Every ``u`` is a standard uncertainty (k = 1); every ``p`` is the probability that the value is right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ClosureWord = Literal["open", "shield", "rubber_seal", "not_seen"]
CageWord = Literal["steel", "brass", "polymer", "not_seen"]
LipFaceWord = Literal["spring_side", "back", "not_seen"]
PartKind = Literal["bearing", "shaft_seal"]
MarkPlace = Literal["ring", "closure", "body"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that kept the photo from being read well."""

    code: str
    """Stable word: ``blurred``, ``dark``, ``glare``, ``cut_off``, ``too_far``, ``unreadable`` …"""
    says: str
    """One sentence: what is wrong and what to do about it."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A number with its standard uncertainty, in the same unit."""

    value: float
    u: float


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Semi-axes a >= b in pixels; the angle is that of the major axis from +x towards +y, in [0, 180)."""

    cx: float
    cy: float
    a: float
    b: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Scale:
    """What fixes millimetres in this photo."""

    source: Literal["card"]
    px_per_mm: float
    """In the plane of the bench, at the card."""
    tilt_deg: float
    """Angle between the viewing direction and the bench's normal."""
    u_rel: float


@dataclass(frozen=True, slots=True)
class ClosureSeen:
    """What closes the face that the photo shows. One face seen is one face known."""

    value: ClosureWord
    p: float


@dataclass(frozen=True, slots=True)
class LipFaceSeen:
    """Which side of a shaft seal the photo shows."""

    value: LipFaceWord
    p: float


@dataclass(frozen=True, slots=True)
class CageSeen:
    """What the cage between the balls of an open face is made of."""

    value: CageWord
    p: float


@dataclass(frozen=True, slots=True)
class DetailSeen:
    """A detail that is seen or not seen; not seen is not missing."""

    value: Literal["seen", "not_seen"]
    p: float


@dataclass(frozen=True, slots=True)
class GrooveSeen:
    """An open snap-ring groove in the outside wall beside the face that the photo shows."""

    value: Literal["present", "absent", "not_seen"]
    """``absent``: the wall shows none beside this face; it may have one beside the other."""
    p: float


@dataclass(frozen=True, slots=True)
class Mark:
    """One run of text on the part."""

    text: str
    place: MarkPlace
    p: float
    region_px: tuple[Point, ...] = ()
    """Outline of where it stands in the photo, for the report."""


@dataclass(frozen=True, slots=True)
class DesignationRead:
    """The marks of one part, read as a designation."""

    text: str
    p: float


@dataclass(frozen=True, slots=True)
class MarkVote:
    """A designation that this photo makes likely to some degree, decided or not: to be counted with other photos."""

    text: str
    place: MarkPlace
    p: float
    """By this photo alone; what is missing to one is "not read"."""


@dataclass(frozen=True, slots=True)
class MarkEvenness:
    """How evenly one text on a part is made; spreads between its letters, what is smooth along it taken off."""

    text: str
    letters: int
    """Letters that were compared."""
    spacing: Measured | None
    """Of the gaps between neighbours, as a share of the capitals' height."""
    baseline: Measured
    """Of the letters' middles about the line, as a share of the capitals' height."""
    stroke: Measured
    """Of the stroke width, as a share of its mean."""
    contrast: Measured
    """Of the contrast with the ground, as a share of its mean."""


@dataclass(frozen=True, slots=True)
class SizeCandidate:
    """A standard size and how probable the picture makes it."""

    name: str
    bore_mm: float
    od_mm: float
    width_mm: float
    p: float


@dataclass(frozen=True, slots=True)
class PartSeen:
    """One round part found in a photo."""

    kind: PartKind
    outer_ellipse_px: Ellipse
    bore_ellipse_px: Ellipse | None = None
    bore_to_od: Measured | None = None
    od_mm: Measured | None = None
    bore_mm: Measured | None = None
    closure: ClosureSeen | None = None
    lip_face: LipFaceSeen | None = None
    marks: tuple[Mark, ...] = ()
    designation: DesignationRead | None = None
    sizes: tuple[SizeCandidate, ...] = ()
    kind_p: float | None = None
    """Probability that ``kind`` is right."""
    rubber_colour: str | None = None
    ball_count: int | None = None
    cage: CageSeen | None = None
    """Of open bearings."""
    garter_spring: DetailSeen | None = None
    """Of shaft seals."""
    snap_ring_groove: GrooveSeen | None = None
    """Of bearings."""
    mark_votes: tuple[MarkVote, ...] = ()
    """What the mark may say, the likeliest first, also where no `designation` is read from this photo alone."""
    capitals_px: float | None = None
    """Height of the marks' capitals in the photo, where text was seen."""
    mark_burnt: float = 0.0
    """Largest share of a text, with the room for a suffix beside it, that is burnt out."""
    evenness: tuple[MarkEvenness, ...] = ()
    """Of each text that is read surely and stands high enough."""


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One line of printed text."""

    text: str
    p: float
    region_px: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class LabelFields:
    """What the printed label states, as far as it was understood."""

    designation: str | None = None
    quantity: int | None = None
    batch: str | None = None
    serial: str | None = None
    maker: str | None = None
    country: str | None = None
    date: str | None = None
    order_code: str | None = None


@dataclass(frozen=True, slots=True)
class ColourSeen:
    """A colour in CIELAB (D65, ISO/CIE 11664-4); white paper is L* 94."""

    lightness: float
    """L*, 0 black to 100 white."""
    green_red: float
    """a*, negative towards green."""
    blue_yellow: float
    """b*, negative towards blue."""
    u: float
    """Standard uncertainty of each of the three."""


@dataclass(frozen=True, slots=True)
class LabelColours:
    """Colours of a label, and the white in the photo that they were balanced on."""

    white: Literal["label", "card"] | None
    """The label's own paper, the scale card's, or nothing: then no colour is told."""
    print: ColourSeen | None = None
    """Mean over the solid printed areas."""
    ink: ColourSeen | None = None
    """Of the designation's strokes."""
    paper: ColourSeen | None = None
    """Of the label's paper by the card's."""
    problem: str = ""
    """Why no colour is told."""


@dataclass(frozen=True, slots=True)
class LabelSeen:
    """A printed label: its lines in reading order and the fields found in them."""

    lines: tuple[LabelLine, ...]
    fields: LabelFields
    field_lines: tuple[tuple[str, int], ...] = ()
    """For each field found, the index of the line it stands in."""
    colours: LabelColours | None = None
