"""The scale card: ArUco markers 0 to 3 of DICT_4X4_50, centres on a 60 x 40 mm rectangle, and a ruler."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from drawing.blocks import lookup
from drawing.surface import Array

RECTANGLE_MM = (60.0, 40.0)
MARKER_MM = 12.0
SHEET_MM = (82.0, 62.0)
PX_PER_MM = 20
PLANE_Z_MM = 0.2
CENTRES_MM = np.array([[-30.0, 20.0], [30.0, 20.0], [30.0, -20.0], [-30.0, -20.0]])
"""Marker centres on the sheet, x to the right, y up, in the order of the ids."""


@dataclass(frozen=True, slots=True)
class Card:
    """A card lying on the bench, turned about the vertical."""

    middle_mm: Array
    turn: float
    picture: Array

    def centres_mm(self) -> Array:
        """Marker centres (4, 3) in the world."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        flat = CENTRES_MM @ np.array([[c, s], [-s, c]]) + self.middle_mm
        return np.column_stack([flat, np.full(4, PLANE_Z_MM)])

    def on_sheet(self, point: Array) -> Array:
        """Sheet coordinates (n, 2) of world points."""
        c, s = np.float32(np.cos(self.turn)), np.float32(np.sin(self.turn))
        away = point[:, :2] - self.middle_mm.astype(np.float32)
        return np.stack([away[:, 0] * c + away[:, 1] * s, -away[:, 0] * s + away[:, 1] * c], axis=1)

    def colour(self, sheet: Array) -> Array:
        """Albedo (n, 3) at sheet coordinates."""
        u = (sheet[:, 0] + SHEET_MM[0] / 2) * PX_PER_MM - 0.5
        v = (SHEET_MM[1] / 2 - sheet[:, 1]) * PX_PER_MM - 0.5
        return lookup(self.picture, u, v)[:, None] * np.float32((1.0, 0.99, 0.97))

    def covers(self, sheet: Array) -> Array:
        """Say which sheet coordinates lie on the card."""
        return (np.abs(sheet[:, 0]) < SHEET_MM[0] / 2) & (np.abs(sheet[:, 1]) < SHEET_MM[1] / 2)


def card_picture() -> Array:
    """Draw the sheet as grey albedo, float32."""
    width, height = (round(side * PX_PER_MM) for side in SHEET_MM)
    sheet = np.full((height, width), 0.78, np.float32)
    names = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    side = round(MARKER_MM * PX_PER_MM)
    for number, (x, y) in enumerate(CENTRES_MM):
        marker = cv2.aruco.generateImageMarker(names, number, side)
        left = round((x + SHEET_MM[0] / 2) * PX_PER_MM - side / 2)
        top = round((SHEET_MM[1] / 2 - y) * PX_PER_MM - side / 2)
        sheet[top : top + side, left : left + side] = np.where(marker > 127, 0.78, 0.025)
    _ruler(sheet)
    return sheet


def _ruler(sheet: Array) -> None:
    """Thirty millimetres of graduation in the middle."""
    middle_x, middle_y = sheet.shape[1] / 2, sheet.shape[0] / 2
    for tick in range(31):
        x = round(middle_x + (tick - 15) * PX_PER_MM)
        long = 5.0 if tick % 10 == 0 else 3.5 if tick % 5 == 0 else 2.2
        sheet[round(middle_y) : round(middle_y + long * PX_PER_MM), x - 1 : x + 2] = 0.06
