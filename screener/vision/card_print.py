"""Write the scale card as a PDF to print at 100 %.

Drawn at 20 dots per millimetre (508 dpi), so that every measure of the card is a whole number of dots.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PIL import Image, ImageDraw, ImageFont

from screener.errors import ScreenerError, WrongUsage
from screener.vision import card_layout

if TYPE_CHECKING:
    from pathlib import Path

DOTS_PER_MM = 20
DOTS_PER_INCH = DOTS_PER_MM * 25.4
PAGE_MM = (210, 297)
"""ISO 216 A4; everything drawn also fits on a sheet 216 mm × 279 mm."""

_MARKER_0_MM = (45, 45)
"""Centre of marker 0 on the page."""
_BORDER_MM = 10
"""White around the marker centres, up to the cutting line."""

_LINES = (
    "SCALE CARD FOR PHOTOS OF PARTS",
    "1. Print at 100 % (actual size): no 'fit to page', no scaling.",
    "2. Check both lines above with a steel rule: 100 mm across, 60 mm down. If they are off by more",
    "    than 0.3 mm, the printer scales: change its settings and print again.",
    "3. Cut along the thin frame, leave the white border. Stiff, matt, flat paper is best.",
    "4. Lay the card flat on the bench beside the part, both wholly in the photo, nothing on the markers.",
    "5. Hold the phone a little tilted and at least 200 mm away; zoom instead of going closer.",
)


def write_card(path: Path) -> None:
    """Write the card to a PDF of one page at exact size.

    Parameters
    ----------
    path
        Where to write; must end in ``.pdf``.

    Raises
    ------
    WrongUsage
        Another ending.
    ScreenerError
        The file could not be written.
    """
    if path.suffix.lower() != ".pdf":
        raise WrongUsage("The scale card is written as PDF.", where=str(path), next_step="Give a name ending in .pdf.")
    try:
        draw_page().save(path, "PDF", resolution=DOTS_PER_INCH, title="Scale card")
    except OSError as fault:
        reason = fault.strerror or "the system refused"
        raise ScreenerError(
            f"The card could not be written ({reason}).",
            where=str(path),
            next_step="Choose another folder.",
            code="cannot_write",
        ) from fault


def draw_page() -> Image.Image:
    """Draw the page: black and white, 20 dots per millimetre."""
    page = Image.new("1", (_dots(PAGE_MM[0]), _dots(PAGE_MM[1])), 1)
    draw = ImageDraw.Draw(page)
    _draw_card(page, draw)
    _draw_ruler(draw)
    for i, line in enumerate(_LINES):
        _text(draw, (25, 180 + 9 * i), line, height_mm=6 if i == 0 else 3.6)
    return page


def _dots(mm: float) -> int:
    return round(mm * DOTS_PER_MM)


def _draw_card(page: Image.Image, draw: ImageDraw.ImageDraw) -> None:
    """Markers, cutting frame, and a word in the middle so that a loose card explains itself."""
    left, top = _MARKER_0_MM
    half = card_layout.MARKER_MM / 2
    for marker, (x, y) in card_layout.CENTRES_MM.items():
        picture = Image.fromarray(card_layout.marker_image(marker, _dots(card_layout.MARKER_MM)))
        page.paste(picture.convert("1"), (_dots(left + x - half), _dots(top + y - half)))
    b = _BORDER_MM
    frame = (left - b, top - b, left + 60 + b, top + 40 + b)
    draw.rectangle([_dots(v) for v in frame], outline=0, width=2)
    _text(draw, (left + 17, top + 15), "scale card", height_mm=4)
    _text(draw, (left + 14, top + 21), "centres 60 x 40 mm", height_mm=3)


def _draw_ruler(draw: ImageDraw.ImageDraw) -> None:
    """Draw lines of 100 mm across and 60 mm down: printers stretch the two directions differently."""
    for i in range(11):
        long = i % 5 == 0
        _line(draw, (25 + 10 * i, 160), (25 + 10 * i, 160 + (6 if long else 3)))
        if i <= 6:
            _line(draw, (160, 100 + 10 * i), (160 + (6 if i % 3 == 0 else 3), 100 + 10 * i))
    _line(draw, (25, 160), (125, 160))
    _line(draw, (160, 100), (160, 160))
    _text(draw, (62, 152), "100 mm", height_mm=4)
    _text(draw, (168, 127), "60 mm", height_mm=4)


def _line(draw: ImageDraw.ImageDraw, start_mm: tuple[float, float], end_mm: tuple[float, float]) -> None:
    draw.line([_dots(v) for v in (*start_mm, *end_mm)], fill=0, width=3)


def _text(draw: ImageDraw.ImageDraw, at_mm: tuple[float, float], text: str, *, height_mm: float) -> None:
    font = ImageFont.load_default(size=_dots(height_mm))
    draw.text((_dots(at_mm[0]), _dots(at_mm[1])), text, fill=0, font=font)
