"""What is printed on the scale card: the one place where its measures stand.

Card frame, in millimetres: origin in the centre of marker 0, x towards marker 1, y towards marker 3.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

MARKER_MM = 12.0
"""Side of a marker's black square."""

CENTRES_MM: dict[int, tuple[float, float]] = {0: (0.0, 0.0), 1: (60.0, 0.0), 2: (60.0, 40.0), 3: (0.0, 40.0)}
"""Marker centres, clockwise as read."""

CELLS = 6
"""A 4 × 4 marker with its black border is 6 cells wide."""

MIDDLE_MM = (30.0, 20.0)
"""Middle of the card."""


def dictionary() -> Any:
    """Give the open marker dictionary that the card uses."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def marker_image(marker: int, side_px: int) -> NDArray[np.uint8]:
    """Picture of one marker, black border included; ``side_px`` a multiple of 6."""
    return np.asarray(cv2.aruco.generateImageMarker(dictionary(), marker, side_px), dtype=np.uint8)


def corners_mm(marker: int) -> NDArray[np.float64]:
    """Give the four corners of one marker's black square (4 × 2), clockwise from its own top left."""
    half = MARKER_MM / 2
    return np.array(CENTRES_MM[marker]) + half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
