"""The outside wall of a part lying on the bench, as far as a tilted photo shows it, straightened.

Two concentric circles of the top fix how the part is seen: their flatness gives the tilt, the shift between their
centres which side is near and how near the camera is. The wall hangs one circle below the other under the outer edge;
on the near side it is seen from the top down to the bench, more of it the greater the tilt and the distance.

Depths are in units of the outer radius, from the outer ellipse downward; angles in radians from the nearest place of
the wall. The part is taken to lie in the middle of the view: what that leaves open is a few per cent of a depth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.unwrap import perspective

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse

    Floats = NDArray[np.floating]

WELL_SEEN = 0.45
"""Columns in which the wall shows less than this share of its height at the nearest place are left out."""
MOST_ROUND_RAD = math.radians(65)
MOST_PERSPECTIVE = 0.5
MOST_NEARNESS = 0.8
SAMPLES_A_COLUMN = 3

_TO_LINEAR = ((np.arange(256) / 255.0) ** 2.2).astype(np.float32)


@dataclass(frozen=True, eq=False)
class Wall:
    """How the outside wall is seen."""

    centre: Floats
    """Image of the centre of the outer circle, (2,) px."""
    near: Floats
    """Unit vector in the photo towards the near side, (2,)."""
    tilt_rad: float
    """Between the line of sight and the part's axis."""
    nearness: float
    """Outer radius by the camera's distance."""
    scale_px: float
    """Pixels of an outer radius at the distance of the centre."""

    @property
    def px_per_radius(self) -> float:
        """Pixels that a depth of one outer radius covers at the nearest place; zero or less where no wall is seen."""
        lean = math.sin(self.tilt_rad)
        return self.scale_px * (lean - self.nearness) / (1.0 - self.nearness * lean) ** 2

    @property
    def half_angle_rad(self) -> float:
        """How far to either side of the nearest place the wall is seen well."""
        lean = math.sin(self.tilt_rad)
        if lean <= self.nearness:
            return 0.0
        least = (self.nearness + WELL_SEEN * (lean - self.nearness)) / lean
        return min(math.acos(min(least, 1.0)), MOST_ROUND_RAD)

    def points(self, depth: Floats, angle_rad: Floats) -> Floats:
        """Photo points (..., 2) of the wall; depth and angle broadcast against each other."""
        lean, flat = math.sin(self.tilt_rad), math.cos(self.tilt_rad)
        aside, toward = np.sin(angle_rad), np.cos(angle_rad)
        far = 1.0 - self.nearness * (toward * lean - depth * flat)
        along = self.scale_px * aside / far
        down = self.scale_px * (toward * flat + depth * lean) / far
        x = self.centre[0] - self.near[1] * along + self.near[0] * down
        y = self.centre[1] + self.near[0] * along + self.near[1] * down
        return np.stack([x, y], axis=-1)


def wall_of(outer: Ellipse, bore: Ellipse) -> Wall:
    """Work out how the wall under an outer circle is seen; ``outer`` and ``bore`` are concentric circles of one plane.

    A circle of radius r about c appears as c + S r u / (1 + r g·u) (see `screener.vision.unwrap`); g points away from
    the near side and is the sine of the tilt times the radius by the distance.
    """
    g = perspective(bore, outer)
    turn = math.radians(outer.angle_deg + 90.0)
    minor = np.array([math.cos(turn), math.sin(turn)])
    near = -minor if float(g @ minor) > 0 else minor
    size = min(abs(float(g @ minor)), MOST_PERSPECTIVE)
    flat = min(1.0, math.sqrt(1.0 - size**2) * outer.b / outer.a)
    tilt = math.acos(flat)
    scale = outer.a * math.sqrt(1.0 - size**2)
    back = scale * flat * size / (1.0 - size**2)
    return Wall(
        centre=np.array([outer.cx, outer.cy]) - back * near,
        near=near,
        tilt_rad=tilt,
        nearness=min(size / max(math.sin(tilt), 1e-3), MOST_NEARNESS),
        scale_px=scale,
    )


def straightened(rgb: NDArray[np.uint8], wall: Wall, depth: Floats, columns: int) -> tuple[Floats, bool]:
    """Linear light of the wall.

    Parameters
    ----------
    rgb
        The photo, height × width × 3.
    wall
        Must be seen (`Wall.px_per_radius` above zero).
    depth
        Depth of each row.
    columns
        From one side of the well seen part to the other.

    Returns
    -------
    light
        rows × columns × 3, 0 to 1.
    whole
        Whether all of it lies in the photo.
    """
    half = wall.half_angle_rad
    angle = np.linspace(-half, half, columns * SAMPLES_A_COLUMN)[None, :]
    at = wall.points(depth[:, None].astype(np.float32), angle.astype(np.float32)).astype(np.float32)
    strip = np.asarray(cv2.remap(rgb, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    samples = _TO_LINEAR[strip].reshape(len(depth), columns, SAMPLES_A_COLUMN, 3)
    light = sum(samples[:, :, i] for i in range(SAMPLES_A_COLUMN)) / SAMPLES_A_COLUMN
    height, width = rgb.shape[:2]
    whole = at.min() >= 0 and at[..., 0].max() <= width - 1 and at[..., 1].max() <= height - 1
    return np.asarray(light), bool(whole)
