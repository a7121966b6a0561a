"""Draws bearing faces with text around them, to read marks from. Nothing here comes from the reader under test.

The face is drawn on a flat plane, band by band, lit unevenly, and seen by a pinhole camera at a tilt; the true ellipses
follow from the camera's homography. Deliberately plainer than a photo: what fails here has no excuse.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from screener.vision.model import Ellipse

_ROWS, _COLUMNS = 700, 4398


@dataclass(frozen=True)
class DrawnMark:
    """One text at an angle (degrees) around the ring."""

    text: str
    at_deg: float


@dataclass(frozen=True)
class DrawnFace:
    """What to draw. Lengths as shares of the outer radius; ``strength`` is contrast from 0 to 1."""

    marks: tuple[DrawnMark, ...]
    radius_px: float = 330.0
    bore_share: float = 0.4
    text_radius: float = 0.92
    text_height: float = 0.065
    pitch: float = 1.1
    inward: bool = True
    dark: bool = True
    strength: float = 0.8
    tilt_deg: float = 10.0
    tilt_towards_deg: float = 30.0
    blur_px: float = 0.6
    noise: float = 2.0
    jpeg: int = 88
    closure: str = "open"
    glare: float = 0.4
    font: str = ""
    seed: int = 1
    uneven: str = ""
    """``spacing``, ``baseline``, ``stroke`` or ``contrast``: what varies from letter to letter."""
    uneven_by: float = 0.0
    """How much: standard deviation as a share of the height (spacing, baseline), or relative (stroke, contrast)."""
    process: str = "etched"
    """``etched`` (flat ink), ``stamped`` (only flanks light and dark) or ``dotted`` (a grid of points)."""
    recess: float = 0.0
    """How much deeper than the rings' faces the closure lies, as a share of the outer radius."""
    canvas: tuple[int, int] = field(default=(1280, 960))


def draw(face: DrawnFace) -> tuple[np.ndarray, Ellipse, Ellipse]:
    """Return the grey photo, the outer ellipse and the bore ellipse."""
    rng = np.random.default_rng(face.seed)
    strip = _bands(face, rng)
    for mark in face.marks:
        _etch(strip, face, mark)
    to_plane, to_photo = _camera(face)
    width, height = face.canvas
    radius, angle = _polar(face, to_plane)
    if face.recess:
        deep, deep_angle = _polar(face, _camera(face, face.recess)[0])
        inner = face.bore_share + 0.35 * (0.84 - face.bore_share)
        low = (deep > inner) & (deep < 0.835) & (radius > inner) & (radius < 0.835)
        radius, angle = np.where(low, deep, radius), np.where(low, deep_angle, angle)
    rows = ((1.02 - radius) * _ROWS).astype(np.float32)
    columns = (angle / (2 * np.pi) * _COLUMNS).astype(np.float32)
    soft = max(0.01, 0.35 * _ROWS / face.radius_px)
    padded = np.hstack([strip, strip[:, :64]])
    seen = cv2.remap(cv2.GaussianBlur(padded, (0, 0), soft), columns, rows, cv2.INTER_LINEAR)
    bench = 120 + 25 * cv2.resize(
        rng.normal(size=(12, 16)).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC
    )
    hole = (radius < face.bore_share) | (radius > 1.0)
    photo = np.where(hole, bench * np.where(radius < 1.0, 0.4, 1.0), seen)
    if face.blur_px:
        photo = cv2.GaussianBlur(photo, (0, 0), face.blur_px)
    photo = photo + rng.normal(size=photo.shape) * face.noise
    coded = cv2.imencode(".jpg", np.clip(photo, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, face.jpeg])[1]
    gray = cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE)
    return gray, _circle(to_photo, 1.0), _circle(to_photo, face.bore_share)


def _polar(face: DrawnFace, to_plane: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Radius (outer edge 1) and angle (0 to 2 pi) on a plane for each pixel of the photo."""
    width, height = face.canvas
    x, y = np.meshgrid(np.arange(width, dtype=np.float64), np.arange(height, dtype=np.float64))
    u, v, w = (to_plane[i, 0] * x + to_plane[i, 1] * y + to_plane[i, 2] for i in range(3))
    u, v = u / w, v / w
    return np.hypot(u, v), np.arctan2(v, u) % (2 * np.pi)


def _bands(face: DrawnFace, rng: np.random.Generator) -> np.ndarray:
    share = 1.02 - np.arange(_ROWS) / _ROWS
    theta = np.linspace(0, 2 * np.pi, _COLUMNS, endpoint=False)
    edge = face.bore_share
    inner = edge + 0.35 * (0.84 - edge)
    middle = {"open": 70.0, "shield": 185.0, "rubber_seal": 50.0}[face.closure]
    level = np.select(
        [share > 0.975, share > 0.85, share > 0.835, share > inner, share > inner - 0.012],
        [110.0, 165, 60, middle, 60],
        160.0,
    )
    lobes = np.abs(np.cos(theta - rng.uniform(0, 6.28))) ** rng.uniform(2, 8)
    light = 0.75 + 0.15 * np.cos(theta - rng.uniform(0, 6.28)) + face.glare * lobes
    strip = np.outer(level, light)
    if face.closure == "open":
        balls = ((share < 0.80) & (share > inner + 0.04))[:, None] * (0.5 + 0.5 * np.cos(9 * theta))[None, :]
        strip = strip + 120 * balls
    brushed = cv2.GaussianBlur(rng.normal(size=(_ROWS, _COLUMNS // 8)).astype(np.float32), (0, 0), 12, sigmaY=0.7)
    strip = strip * (1 + 0.25 * cv2.resize(brushed, (_COLUMNS, _ROWS)))
    return np.clip(strip, 0, 250).astype(np.float32)


def _etch(strip: np.ndarray, face: DrawnFace, mark: DrawnMark) -> None:
    height = face.text_height * _ROWS
    font = ImageFont.truetype(face.font, 200) if face.font else ImageFont.load_default(200)
    capital = font.getbbox("H")
    image = _written(mark.text, font, face, capital[3] - capital[1])
    scale = height / (capital[3] - capital[1])
    # Columns are as wide as rows are high on the outer edge, so at a smaller radius letters take more of them.
    size = (max(1, int(image.width * scale * face.pitch / face.text_radius)), max(1, int(300 * scale)))
    ink = np.asarray(image.resize(size, Image.Resampling.LANCZOS), np.float32) / 255
    top_to_middle = (30 + (capital[1] + capital[3]) / 2) * scale
    if face.inward:
        ink, top_to_middle = ink[::-1, ::-1], ink.shape[0] - top_to_middle
    top = int((1.02 - face.text_radius) * _ROWS - top_to_middle)
    columns = (np.arange(ink.shape[1]) + int(mark.at_deg / 360 * _COLUMNS)) % _COLUMNS
    rows = np.clip(np.arange(top, top + ink.shape[0]), 0, _ROWS - 1)
    ground = strip[np.ix_(rows, columns)]
    if face.process == "stamped":
        _stamp(strip, (rows, columns), ink, face)
        return
    if face.process == "dotted":
        ink = _dotted(ink, height / 7)
    goal = ground * 0.25 if face.dark else ground + 0.7 * (255 - ground)
    strip[np.ix_(rows, columns)] = ground + (goal - ground) * ink * face.strength


def _stamp(strip: np.ndarray, at: tuple[np.ndarray, np.ndarray], ink: np.ndarray, face: DrawnFace) -> None:
    """Letters pressed in: one flank of each stroke catches the light, the other is in shade, the floor is as it was."""
    soft = cv2.GaussianBlur(ink, (0, 0), max(0.6, 0.03 * face.text_height * _ROWS))
    down, along = np.gradient(soft)
    slope = (down + 0.6 * along) / max(1e-6, float(np.abs(down).max()))
    ground = strip[np.ix_(*at)]
    strip[np.ix_(*at)] = np.clip(ground * (1 + (0.9 if face.dark else -0.9) * slope * face.strength), 0, 250)


def _dotted(ink: np.ndarray, pitch: float) -> np.ndarray:
    """Ink only where a needle struck: points 0.75 of their pitch wide."""
    rows, columns = np.mgrid[: ink.shape[0], : ink.shape[1]]
    off = np.hypot((rows + 0.5) % pitch - pitch / 2, (columns + 0.5) % pitch - pitch / 2)
    return ink * np.clip(0.38 * pitch - off + 0.5, 0, 1)


def _written(text: str, font: ImageFont.FreeTypeFont, face: DrawnFace, capitals: float) -> Image.Image:
    """The text as ink on black; letter by letter where it is to be uneven."""
    left, _, right, _ = font.getbbox(text)
    image = Image.new("L", (int(right - left) + 8, 300), 0)
    if not face.uneven:
        ImageDraw.Draw(image).text((4 - left, 30), text, font=font, fill=255)
        return image
    rng = np.random.default_rng(face.seed + 99)
    sheet = np.zeros((300, int(right - left) + 8 + int(0.6 * capitals * len(text))), np.uint8)
    x = 4.0 - left
    for sign in text:
        by = {face.uneven: face.uneven_by * rng.choice([-1.0, 1.0]) * rng.uniform(0.7, 1.25)}
        one = Image.fromarray(np.zeros_like(sheet))
        level = int(np.clip(255 * (0.7 + 0.7 * by.get("contrast", 0.0)), 30, 255))
        thick = by.get("stroke", 0.0) * 0.16 * capitals
        place = (x + capitals * by.get("spacing", 0.0), 30 + capitals * by.get("baseline", 0.0))
        ImageDraw.Draw(one).text(place, sign, font=font, fill=level)
        drawn = np.asarray(one)
        if thick:
            kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (1 + 2 * round(abs(thick) / 2),) * 2)
            drawn = cv2.dilate(drawn, kernel) if thick > 0 else cv2.erode(drawn, kernel)
        sheet = np.maximum(sheet, drawn)
        x += font.getlength(sign) + (0.06 * capitals if face.uneven == "spacing" else 0.0)
    return Image.fromarray(sheet)


def _camera(face: DrawnFace, depth: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Homographies photo -> plane and plane -> photo; the outer radius is 1 on the plane, ``depth`` below the face."""
    tilt, towards = np.radians(face.tilt_deg), np.radians(face.tilt_towards_deg)
    axis = np.array([np.cos(towards), np.sin(towards), 0.0]) * tilt
    turn, _ = cv2.Rodrigues(axis)
    distance = 7.0
    width, height = face.canvas
    camera = np.array(
        [[face.radius_px * distance, 0, width / 2], [0, face.radius_px * distance, height / 2], [0, 0, 1]]
    )
    to_photo = camera @ np.column_stack([turn[:, 0], turn[:, 1], np.array([0, 0, distance]) + depth * turn[:, 2]])
    return np.linalg.inv(to_photo), to_photo


def _circle(to_photo: np.ndarray, radius: float) -> Ellipse:
    """Image of the circle of a radius: its conic carried through the homography, then centre and axes from that."""
    back = np.linalg.inv(to_photo)
    conic = back.T @ np.diag([1.0, 1.0, -radius * radius]) @ back
    centre = np.linalg.solve(conic[:2, :2], -conic[:2, 2])
    value = float(np.append(centre, 1) @ conic @ np.append(centre, 1))
    values, vectors = np.linalg.eigh(conic[:2, :2] / -value)
    return Ellipse(
        float(centre[0]),
        float(centre[1]),
        float(values[0] ** -0.5),
        float(values[1] ** -0.5),
        float(np.degrees(np.arctan2(vectors[1, 0], vectors[0, 0])) % 180),
    )
