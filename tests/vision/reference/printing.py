"""Prints a drawn package: elements to pixels, with the printer's blur or dots."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from drawing.barcodes import Code, bars
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont, ImageOps
from vision.reference.panel_model import PX_PER_MM, Box, Element, Package

FACES = Path("/usr/share/fonts/truetype")


def draw(pack: Package) -> NDArray[np.uint8]:
    """Print a panel, uint8 RGB, ``PX_PER_MM``."""
    size = (round(pack.width * PX_PER_MM), round(pack.height * PX_PER_MM))
    image = Image.new("RGB", size, pack.paper)
    for element in pack.elements:
        _print(image, element)
    flat = np.asarray(image)
    if pack.print_blur_mm:
        flat = cv2.GaussianBlur(flat, (0, 0), pack.print_blur_mm * PX_PER_MM)
    if pack.dots_mm:
        flat = _dotted(flat, pack.dots_mm)
    return np.asarray(flat, np.uint8)


def box_of(element: Element) -> Box:
    """Where an element's ink lies: x, y, w, h in mm."""
    if element.kind != "text":
        return element.x, element.y, element.w, element.h
    if element.face == "plain" and not element.turn and not element.wide:
        left, top, right, bottom = _font(element.h).getbbox(element.text, anchor="lt")
        return element.x, element.y, (right - left) / PX_PER_MM, (bottom - top) / PX_PER_MM
    ink = _ink(element)
    return element.x, element.y, ink.shape[1] / PX_PER_MM, ink.shape[0] / PX_PER_MM


def _font(cap_mm: float, face: str = "") -> ImageFont.FreeTypeFont:
    file = FACES / face
    if face and file.exists():
        return ImageFont.truetype(str(file), cap_mm * PX_PER_MM / 0.70)
    font = ImageFont.load_default(cap_mm * PX_PER_MM / 0.70)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


def _print(image: Image.Image, e: Element) -> None:
    pen = ImageDraw.Draw(image)
    x, y, w, h = (round(v * PX_PER_MM) for v in (e.x, e.y, e.w, e.h))
    if e.kind == "text" and e.face == "plain" and not e.turn and not e.wide:
        pen.text((x, y), e.text, fill=e.rgb, font=_font(e.h), anchor="lt")
    elif e.kind == "text":
        ink = Image.fromarray(_ink(e))
        image.paste(Image.new("RGB", ink.size, e.rgb), (x, y), ink)
    elif e.kind in {"linear", "matrix"}:
        _print_code(image, e, (x, y, w, h))
    else:
        _print_shape(image, e, (x, y, w, h))


def _print_shape(image: Image.Image, e: Element, place: tuple[int, int, int, int]) -> None:
    pen = ImageDraw.Draw(image)
    x, y, w, h = place
    around = image.getpixel((max(0, x - 3), y + h // 2))
    if e.kind == "rect":
        pen.rectangle((x, y, x + w, y + h), fill=e.rgb)
    elif e.kind == "disc":
        pen.ellipse((x, y, x + w, y + h), fill=e.rgb)
        pen.rectangle((x + w * 0.42, y, x + w * 0.58, y + h), fill=around)
    elif e.kind == "ring":
        pen.ellipse((x, y, x + w, y + h), outline=e.rgb, width=max(2, w // 6))
        pen.line((x, y + h // 2, x + w, y + h // 2), fill=e.rgb, width=max(2, w // 10))
    elif e.kind == "badge":
        pen.ellipse((x, y, x + w, y + h), fill=e.rgb)
        pen.ellipse((x + w * 0.08, y + h * 0.08, x + w * 0.92, y + h * 0.92), outline=around, width=max(2, w // 28))
        font = _font(0.34 * e.h, e.face if e.face not in {"plain", "other"} else "")
        pen.text((x + w / 2, y + h / 2), e.text, fill=around, font=font, anchor="mm")
    elif e.kind == "frame":
        pen.rectangle((x, y, x + w, y + h), outline=e.rgb, width=max(2, round(0.35 * PX_PER_MM)))
    elif e.kind == "triangle":
        pen.polygon([(x, y + h), (x + w, y + h), (x + w / 2, y)], outline=e.rgb, width=max(3, w // 9))
        pen.line((x + w / 2, y + h * 0.4, x + w / 2, y + h * 0.75), fill=e.rgb, width=max(3, w // 9))
    elif e.kind == "drop":
        pen.ellipse((x + w * 0.1, y + h * 0.35, x + w * 0.9, y + h), fill=e.rgb)
        pen.polygon([(x + w * 0.13, y + h * 0.6), (x + w * 0.87, y + h * 0.6), (x + w / 2, y)], fill=e.rgb)
    else:
        step = max(6, round(2.2 * PX_PER_MM))
        for left in range(x, x + w - h - step // 2, step):
            corners = [(left, y + h), (left + step // 2, y + h), (left + step // 2 + h, y), (left + h, y)]
            pen.polygon(corners, fill=e.rgb)


def _print_code(image: Image.Image, e: Element, place: tuple[int, int, int, int]) -> None:
    x, y, w, h = place
    across, down = (h, w) if e.turn else (w, h)
    ink = bars(Code("ean-13" if e.kind == "linear" else "qr", e.text), 4, down if e.kind == "linear" else 0)
    sized = Image.fromarray(cv2.resize(ink, (across, down), interpolation=cv2.INTER_AREA))
    if e.turn:
        sized = sized.rotate(e.turn, expand=True)
    if e.bare:
        image.paste(Image.new("RGB", sized.size, e.rgb), (x, y), ImageOps.invert(sized.convert("L")))
    else:
        image.paste(sized, (x, y))


def _ink(e: Element) -> NDArray[np.uint8]:
    """Coverage of a text, 0 to 255: of another face, turned or drawn to a width."""
    if e.face == "other":
        ink = _other_face(e.text, e.h)
    else:
        font = _font(e.h, "" if e.face == "plain" else e.face)
        left, top, right, bottom = font.getbbox(e.text, anchor="lt")
        sheet = Image.new("L", (round(right - left) + 2, round(bottom - top) + 2), 0)
        ImageDraw.Draw(sheet).text((1 - left, 1 - top), e.text, fill=255, font=font, anchor="lt")
        ink = np.asarray(sheet)
    if e.wide:
        ink = cv2.resize(ink, (max(4, round(e.wide * PX_PER_MM)), ink.shape[0]), interpolation=cv2.INTER_AREA)
    return np.asarray(np.rot90(ink, e.turn // 90), np.uint8)


def _other_face(text: str, cap_mm: float) -> NDArray[np.uint8]:
    """Another type face (a plotter's double-stroke letters, carried by OpenCV): coverage 0 to 255."""
    face, cap_px = cv2.FONT_HERSHEY_COMPLEX, cap_mm * PX_PER_MM
    scale = cap_px / 21.0
    thick = max(1, round(cap_px / 12))
    (w, h), base = cv2.getTextSize(text, face, scale, thick)
    ink = np.zeros((h + base + thick, w + thick, 1), np.uint8)
    cv2.putText(ink, text, (0, h), face, scale, 255, thick, cv2.LINE_AA)
    ink = ink[..., 0]
    want = _font(cap_mm).getlength(text)
    rows = np.flatnonzero(ink.max(axis=1))
    ink = ink[rows[0] : rows[-1] + 1]
    return np.asarray(cv2.resize(ink, (max(4, round(want)), ink.shape[0]), interpolation=cv2.INTER_AREA), np.uint8)


def _dotted(flat: NDArray[np.uint8], pitch_mm: float) -> NDArray[np.uint8]:
    """Print by an office printer's halftone: every colour as dots of a grid turned by 30 degrees."""
    h, w = flat.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    pitch = pitch_mm * PX_PER_MM
    u = (x * np.cos(0.52) + y * np.sin(0.52)) * 2 * np.pi / pitch
    v = (-x * np.sin(0.52) + y * np.cos(0.52)) * 2 * np.pi / pitch
    screen = ((np.cos(u) + np.cos(v)) / 4 + 0.5)[..., None]
    level = flat.astype(np.float32) / 255
    # Ink spreads a little: solid black and paper stay solid, everything between becomes dots.
    level = np.clip((level - 0.12) / 0.8, 0, 1)
    dots = 1 / (1 + np.exp((screen - level) * 14))
    return np.asarray(np.clip(255 * (0.09 + 0.87 * dots), 0, 255), np.uint8)


LETTERS = (
    "",
    "liberation/LiberationSans-Bold.ttf",
    "liberation/LiberationSansNarrow-Regular.ttf",
    "dejavu/DejaVuSansCondensed-Bold.ttf",
    "dejavu/DejaVuSerif.ttf",
    "liberation/LiberationSerif-Bold.ttf",
)
"""Type faces of the layouts; the first is Pillow's own, and stands for those that this machine lacks."""


def unlike_face(face: str) -> str:
    """A type face of the other kind: with serifs for one without, without for one with."""
    serif = "Serif" in face
    wanted = "liberation/LiberationSans-Bold.ttf" if serif else "dejavu/DejaVuSerif.ttf"
    return wanted if (FACES / wanted).exists() else "other"
