"""What a scene is made of: plain values, so that a scene can be written down, varied at random and drawn again."""

from __future__ import annotations

from dataclasses import dataclass, field

from drawing.marking import Marking

Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class BearingPart:
    """A deep groove ball bearing lying on a face; ``closure`` is that of the face seen."""

    base: str
    closure: str = "open"
    designation: str = ""
    """What the part truly is."""
    marking: Marking | None = None
    closure_rgb: Colour = (0.012, 0.012, 0.013)
    cage: str = "steel"
    polish: float = 0.5
    """0: matt ground faces, 1: bright."""
    claim: str = "true"
    maker: str = ""
    marked_designation: str = ""
    lot: str = ""
    defect: str | None = None
    groove_mm: tuple[float, float, float] | None = None
    """Snap-ring groove beside the face seen: distance from the face, width, depth."""


@dataclass(frozen=True, slots=True)
class SealPart:
    """A rotary shaft seal lying on the bench."""

    size: tuple[float, float, float]
    lip_face: str = "back"
    marking: Marking | None = None
    rgb: Colour = (0.012, 0.012, 0.013)
    maker: str = ""
    material: str = "NBR"


@dataclass(frozen=True, slots=True)
class CartonPart:
    """A box of cardboard with a printed top; ``picture`` is the top as linear RGB (rows, columns, 3), float32."""

    size_mm: Colour
    picture: object
    rgb: Colour = (0.55, 0.53, 0.5)


@dataclass(frozen=True, slots=True)
class CameraSpec:
    """Where the camera stands. ``focal_eq_mm`` is for a 36 mm wide frame."""

    distance_mm: float = 200.0
    tilt_deg: float = 10.0
    azimuth_deg: float = 0.0
    roll_deg: float = 0.0
    focal_eq_mm: float = 40.0
    k1: float = 0.0
    aim_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class FinishSpec:
    """What the phone does to the picture."""

    exposure: float = 1.0
    blur_px: float = 0.0
    motion_px: float = 0.0
    motion_deg: float = 0.0
    noise: float = 0.006
    vignette: float = 0.15
    jpeg_quality: int = 85


@dataclass(frozen=True, slots=True)
class SceneSpec:
    """One photo."""

    part: BearingPart | SealPart | CartonPart
    camera: CameraSpec = field(default_factory=CameraSpec)
    finish: FinishSpec = field(default_factory=FinishSpec)
    bench: str = "wood"
    lights: tuple[str, ...] = ("window", "lamp")
    card: tuple[float, float, float] | None = None
    """Middle x, y (mm) and turn (radians) of the scale card, or None."""
    clutter: tuple[tuple[str, float, float], ...] = ()
    """Kind (washer, nut, pen, disc) and place of each thing lying about."""
    width_px: int = 1600
    height_px: int = 1200
