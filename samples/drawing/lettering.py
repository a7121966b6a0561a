"""Letters as masks: the typeface inside Pillow, the stroke faces of OpenCV, laser dots. No font files needed."""

from __future__ import annotations

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from drawing.surface import Array

FACES = ("plain", "bold", "stroke", "stroke_wide", "dots")


def text_mask(text: str, cap_px: int, face: str = "plain") -> Array:
    """Draw a line of text as float32 0 to 1, cropped to its ink, with capitals ``cap_px`` high.

    Letters that reach below the line make the mask taller; designations have none.
    """
    mask = _stroke(text, cap_px, face) if face.startswith("stroke") else _outline(text, cap_px, bold=face == "bold")
    if face == "dots":
        mask = _dotted(mask, cap_px)
    return mask


def _outline(text: str, cap_px: int, *, bold: bool) -> Array:
    font = ImageFont.load_default(max(6, round(cap_px / 0.70)))  # this face's capitals are 0.70 of its size
    weight = round(cap_px * 0.035) if bold else 0
    left, top, right, bottom = (round(v) for v in font.getbbox(text, stroke_width=weight))
    sheet = Image.new("L", (right - left + 4, bottom - top + 4))
    ImageDraw.Draw(sheet).text((2 - left, 2 - top), text, fill=255, font=font, stroke_width=weight)
    return _cropped(np.asarray(sheet, np.float32) / 255)


def _stroke(text: str, cap_px: int, face: str) -> Array:
    scale = 8.0  # drawn large, then shrunk: stroke faces are thin at their own size
    thick = 22 if face == "stroke" else 15
    (width, height), base = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, scale, thick)
    sheet = np.zeros((height + base + 80, width + 80), np.uint8)
    cv2.putText(sheet, text, (40, height + 30), cv2.FONT_HERSHEY_SIMPLEX, scale, 255, thick, cv2.LINE_AA)
    ink = _cropped(sheet.astype(np.float32) / 255)
    stretch = 1.18 if face == "stroke_wide" else 0.92
    factor = cap_px / (height * 1.0)
    size = (max(2, round(ink.shape[1] * factor * stretch)), max(2, round(ink.shape[0] * factor)))
    return cv2.resize(ink, size, interpolation=cv2.INTER_AREA)


def _dotted(mask: Array, cap_px: int) -> Array:
    """Break the strokes into the dots of a pulsed laser or a dot-peen marker."""
    pitch = max(3, round(cap_px / 11))
    dot = np.zeros_like(mask)
    for y in range(pitch // 2, mask.shape[0], pitch):
        for x in range(pitch // 2, mask.shape[1], pitch):
            if mask[y, x] > 0.4:
                cv2.circle(dot, (x, y), max(1, round(pitch * 0.46)), 1.0, -1, cv2.LINE_AA)
    return np.maximum(dot, 0.25 * mask)


def _cropped(mask: Array) -> Array:
    rows, columns = np.flatnonzero(mask.max(axis=1) > 0.2), np.flatnonzero(mask.max(axis=0) > 0.2)
    if not len(rows):
        return np.zeros((4, 4), np.float32)
    return mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
