"""Printed box labels in ten layouts: maker word, designation, dimensions, quantity, batch, date, country, codes."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from drawing.barcodes import Code, bars
from drawing.surface import Array

PX_PER_MM = 16
Rgb = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class LabelText:
    """What a label says. Empty fields are not printed."""

    maker: str
    product: str
    designation: str
    dimensions: str = ""
    rows: tuple[tuple[str, str], ...] = ()
    """Names and values, printed in order."""
    footer: str = ""
    codes: tuple[Code, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """How a label is set."""

    size_mm: tuple[int, int] = (92, 60)
    band: str = "top"
    """Where the coloured band stands: top, left, bottom or none."""
    band_rgb: Rgb = (20, 60, 120)
    paper_rgb: Rgb = (246, 245, 241)
    ink_rgb: Rgb = (22, 22, 24)
    maker_mm: float = 6.0
    designation_mm: float = 6.5
    rows_mm: float = 2.5
    columns: int = 1
    grid: bool = False
    framed: bool = False
    matrix_right: bool = True
    bold: bool = True


LAYOUTS: tuple[Layout, ...] = (
    Layout(),
    Layout(band_rgb=(150, 28, 30), columns=2, matrix_right=False),
    Layout(band="left", band_rgb=(15, 90, 70), maker_mm=5.0),
    Layout(band="none", framed=True, grid=True, columns=2, paper_rgb=(250, 250, 250)),
    Layout(band="bottom", band_rgb=(230, 150, 20), designation_mm=8.0),
    Layout((84, 64), "top", (35, 35, 38), columns=2, grid=True, rows_mm=2.3),
    Layout((100, 52), "left", (90, 40, 110), designation_mm=5.5, rows_mm=2.3, columns=2),
    Layout((88, 66), "none", paper_rgb=(243, 238, 222), ink_rgb=(30, 34, 60), bold=False, rows_mm=2.8),
    Layout((96, 58), "bottom", (40, 110, 160), framed=True, columns=2, matrix_right=True),
    Layout((90, 62), "top", (200, 205, 210), ink_rgb=(10, 10, 10), designation_mm=7.5, maker_mm=7.0),
)


@dataclass(slots=True)
class Sheet:
    """The label while it is drawn; millimetres from the top left corner."""

    layout: Layout
    image: Image.Image = field(init=False)
    pen: ImageDraw.ImageDraw = field(init=False)

    def __post_init__(self) -> None:
        width, height = self.layout.size_mm
        self.image = Image.new("RGB", (width * PX_PER_MM, height * PX_PER_MM), self.layout.paper_rgb)
        self.pen = ImageDraw.Draw(self.image)

    def box(self, x: float, y: float, w: float, h: float, fill: Rgb | None = None) -> None:
        """Draw a filled rectangle, or a frame without ``fill``."""
        corner = (round(x * PX_PER_MM), round(y * PX_PER_MM), round((x + w) * PX_PER_MM), round((y + h) * PX_PER_MM))
        self.pen.rectangle(corner, fill=fill, outline=None if fill else self.layout.ink_rgb, width=4)

    def write(
        self,
        text: str,
        x: float,
        y: float,
        cap_mm: float,
        *,
        rgb: Rgb | None = None,
        bold: bool = False,
        within_mm: float = 1e9,
    ) -> float:
        """Write with capitals ``cap_mm`` high, top left at (x, y), narrowed to fit; gives the width in mm."""
        cap = cap_mm
        while cap > 1.2:
            font = ImageFont.load_default(cap * PX_PER_MM / 0.70)
            width = font.getlength(text) / PX_PER_MM
            if width <= within_mm:
                break
            cap *= 0.94
        place = (x * PX_PER_MM, y * PX_PER_MM)
        weight = round(cap * PX_PER_MM * 0.035) if bold else 0
        self.pen.text(place, text, fill=rgb or self.layout.ink_rgb, font=font, anchor="lt", stroke_width=weight)
        return float(width)

    def paste(self, ink: Array, x: float, y: float) -> None:
        """Put a symbol down."""
        self.image.paste(Image.fromarray(ink), (round(x * PX_PER_MM), round(y * PX_PER_MM)))


def draw_label(text: LabelText, layout: Layout) -> Array:
    """Draw a label, uint8 RGB, ``PX_PER_MM`` pixels a millimetre."""
    sheet = Sheet(layout)
    left, top, right, bottom = _band(sheet, text)
    linear = [code for code in text.codes if code.linear]
    matrix = [code for code in text.codes if not code.linear]
    bottom = _linear_codes(sheet, linear, left, right, bottom)
    side = _matrix_codes(sheet, matrix, left, top, right, bottom)
    left, right = (left, right - side) if layout.matrix_right else (left + side, right)
    _body(sheet, text, left, top, right, bottom)
    if layout.framed:
        sheet.box(0.8, 0.8, layout.size_mm[0] - 1.6, layout.size_mm[1] - 1.6)
    return np.asarray(sheet.image)


def _band(sheet: Sheet, text: LabelText) -> tuple[float, float, float, float]:
    """Draw the band with the maker's word; gives left, top, right, bottom of what is left (mm)."""
    layout, (width, height) = sheet.layout, sheet.layout.size_mm
    pale = sum(layout.band_rgb) > 480
    rgb = layout.ink_rgb if pale or layout.band == "none" else (250, 250, 250)
    thick, margin = layout.maker_mm + 5, 3.5
    if layout.band == "left":
        strip = Sheet(Layout((height, round(thick)), paper_rgb=layout.band_rgb))
        strip.write(text.maker, margin, 2.6, layout.maker_mm, rgb=rgb, bold=layout.bold, within_mm=height - 7)
        sheet.image.paste(strip.image.rotate(90, expand=True), (0, 0))
        return round(thick) + margin, margin, width - margin, height - margin
    y = height - thick if layout.band == "bottom" else 0.0
    if layout.band != "none":
        sheet.box(0, y, width, thick, layout.band_rgb)
    sheet.write(text.maker, margin, y + 2.6, layout.maker_mm, rgb=rgb, bold=layout.bold, within_mm=width - 7)
    return (margin, margin, width - margin, y - 1) if y else (margin, thick + 2, width - margin, height - margin)


def _linear_codes(sheet: Sheet, codes: list[Code], left: float, right: float, bottom: float) -> float:
    for code in codes:
        for module_px in (6, 5, 4, 3):
            ink = bars(code, module_px, round(8.5 * PX_PER_MM))
            if ink.shape[1] / PX_PER_MM <= right - left + 4:
                break
        bottom -= ink.shape[0] / PX_PER_MM + 2.6
        sheet.paste(ink, max(0.5, left - 2), bottom)
        sheet.write(code.content, left, bottom + ink.shape[0] / PX_PER_MM + 0.3, 1.6, within_mm=right - left)
        bottom -= 1.0
    return bottom


def _matrix_codes(sheet: Sheet, codes: list[Code], left: float, top: float, right: float, bottom: float) -> float:
    """Draw matrix codes one above the other; gives the width taken (mm)."""
    side, y = 0.0, top
    for code in codes:
        for module_px in (10, 9, 8, 7, 6, 5):
            ink = bars(code, module_px)
            if ink.shape[0] / PX_PER_MM <= min(bottom - y, 24.0):
                break
        wide = ink.shape[1] / PX_PER_MM
        sheet.paste(ink, right - wide if sheet.layout.matrix_right else left - 1, y)
        side, y = max(side, wide + 1.5), y + ink.shape[0] / PX_PER_MM + 1
    return side


def _body(sheet: Sheet, text: LabelText, left: float, top: float, right: float, bottom: float) -> None:
    layout, y = sheet.layout, top
    sheet.write(text.product, left, y, 2.2, within_mm=right - left)
    y += 4.2
    sheet.write(text.designation, left, y, layout.designation_mm, bold=layout.bold, within_mm=right - left)
    y += layout.designation_mm + 2.4
    if text.dimensions:
        sheet.write(text.dimensions, left, y, 2.5, within_mm=right - left)
        y += 4.6
    per_column = -(-len(text.rows) // layout.columns)
    column = (right - left) / layout.columns
    step = min(layout.rows_mm * 1.75, (bottom - y - 3.2) / max(1, per_column))
    for number, (name, value) in enumerate(text.rows):
        x, row = left + column * (number // per_column), y + step * (number % per_column)
        if layout.grid:
            sheet.box(x - 0.8, row - 0.7, column - 0.4, step - 0.3)
        used = sheet.write(name + ":", x, row, min(layout.rows_mm, step * 0.62) * 0.9, within_mm=column * 0.45)
        sheet.write(
            value,
            x + used + 1.4,
            row,
            min(layout.rows_mm, step * 0.62),
            bold=layout.bold,
            within_mm=column - used - 3.2,
        )
    if text.footer:
        sheet.write(text.footer, left, bottom - 2.2, 1.7, within_mm=right - left)


def box_top(
    label: Array, size_mm: tuple[float, float], carton_rgb: Rgb, turn_deg: float, rng: np.random.Generator
) -> Array:
    """Stick a label on a carton's top: linear RGB float32, ``PX_PER_MM``; a little crooked, with paper grain."""
    width, height = (round(v * PX_PER_MM) for v in size_mm)
    top = np.empty((height, width, 3), np.float32)
    top[:] = np.float32(carton_rgb) * (1 + 0.02 * _grain(rng, height, width, 30))[..., None]
    top *= (1 + 0.02 * _grain(rng, height, width, 2))[..., None]
    turn = cv2.getRotationMatrix2D((label.shape[1] / 2, label.shape[0] / 2), turn_deg, 1.0)
    turn[:, 2] += ((width - label.shape[1]) / 2, (height - label.shape[0]) / 2)
    paper = label.astype(np.float32) * (1 + 0.012 * _grain(rng, *label.shape[:2], 1.5))[..., None]
    laid = cv2.warpAffine(paper, turn, (width, height), flags=cv2.INTER_AREA)
    cover = cv2.warpAffine(np.ones(label.shape[:2], np.float32), turn, (width, height))
    shadow = cv2.GaussianBlur(cover, (0, 0), 8)
    top = top * (1 - 0.25 * shadow * (1 - cover))[..., None] * (1 - cover[..., None]) + laid * cover[..., None]
    return ((np.clip(top, 0, 255) / 255) ** 2.2 * 0.85).astype(np.float32)


def _grain(rng: np.random.Generator, height: int, width: int, blur: float) -> Array:
    small = rng.standard_normal((max(4, int(height / blur)), max(4, int(width / blur)))).astype(np.float32)
    return cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)
