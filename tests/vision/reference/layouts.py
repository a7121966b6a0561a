"""Two more families of layouts: the label around a tube, and a small flat box of coloured board with dark print.

They share nothing with the carton but makers, products and sentences: other shapes, type faces, a round mark, text that
runs up, icons, frames, stripes, codes on the board itself.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from drawing.barcodes import check_digit
from vision.reference.panel_model import MAKERS, PARTS, SENTENCES, Element, Package, Rgb, band_colour, variable
from vision.reference.printing import LETTERS, box_of

INK = (22, 22, 24)
LIGHT = (247, 247, 244)
UPRIGHT = ("ROLLING BEARINGS", "HANDLE WITH CARE", "Fit with clean tools", "KEEP DRY")
BOARDS: tuple[Rgb, ...] = (
    (236, 190, 40),
    (226, 128, 46),
    (110, 172, 162),
    (188, 150, 106),
    (140, 178, 214),
    (120, 170, 90),
)
DARK: tuple[Rgb, ...] = ((18, 22, 44), (44, 18, 16), (20, 20, 22), (12, 40, 30))


def wrap(seed: int, *, batch_seed: int = 0) -> Package:
    """The label around a tube, laid out long: round mark, maker, a strip with text that runs up, thin rules."""
    rng = np.random.default_rng(seed * 3 + 1)
    maker, part, face = (str(rng.choice(c)) for c in (MAKERS, PARTS, [f for f in LETTERS if f]))
    width, height = float(rng.uniform(126, 148)), float(rng.uniform(46, 54))
    colour, second = band_colour(rng), band_colour(rng)
    plain = str(rng.choice(LETTERS))
    batch = variable(np.random.default_rng(seed * 1000 + 7 + batch_seed))
    badge, strip = float(rng.uniform(14, 17)), float(rng.uniform(7.5, 9))
    m, at_end = 4.0, bool(rng.random() < 0.5)
    strip_x = width - strip if at_end else 0.0
    left, right = (m, width - strip - 3) if at_end else (strip + 3, width - m)
    x = left + badge + 4
    size = _code_size(rng)
    code_x = right - size[0]
    parts = [
        Element("strip", "rect", strip_x, 0, strip, height, rgb=colour),
        _upright(strip_x + strip / 2, height, rng, face=face, rgb=INK if sum(colour) > 430 else LIGHT),
        Element("logo", "badge", left, m, badge, badge, text=maker[:2], rgb=colour, face=face),
        Element("maker", "text", x, 4.5, h=5.2, text=maker, rgb=INK, face=face),
        Element("rule", "rect", x, 12.2, 44, 0.5, rgb=second),
        Element("designation", "text", x + 2.5, 15.6, h=4.4, text=part, face=face),
    ]
    _, _, long, tall = box_of(parts[-1])
    parts += [
        Element("frame", "frame", x, 13.8, long + 5, tall + 3.6, rgb=INK),
        Element("line0", "text", x, 26.0, h=2.1, text=_sentence(rng, 0), face=plain or "plain"),
        Element("line1", "text", x, 30.4, h=2.1, text=_sentence(rng, 3), face=plain or "plain"),
        Element("batch", "text", x, 35.6, h=2.2, text=f"Lot: {batch[0]}", variable=True),
        Element("date", "text", x + 24, 35.6, h=2.2, text=f"Date: {batch[1]}", variable=True),
        Element("mark", "rect", left + 1, m + badge + 5, badge - 2, 7.0, rgb=second),
        Element("icon0", "triangle", left + 1, m + badge + 15.5, 6.0, 5.5, rgb=INK),
        Element("icon1", "drop", left + 9.5, m + badge + 15.5, 4.4, 5.6, rgb=INK),
        Element(
            "footer", "text", x, height - 5.0, h=1.9, text="Made in Slovenia. Not for resale singly.", face="plain"
        ),
        replace(_code(rng, size), x=code_x, y=float(rng.uniform(8, height - size[1] - 9))),
    ]
    roles = {
        "text_misspelt": ("maker", "line0", "line1", "footer", "upright"),
        "shifted": ("logo", "mark", "icon0", "icon1", "line1", "upright"),
        "missing": ("logo", "mark", "line0", "icon1", "footer", "designation", "upright", "code", "frame", "rule"),
        "colour": ("strip", "mark", "logo"),
        "font": ("maker", "designation", "line0", "upright"),
    }
    paper = (246, 245, 241) if rng.random() < 0.6 else (232, 226, 210)
    return Package(width, height, paper, tuple(parts), maker, part, roles=tuple(roles.items()))


def board(seed: int, *, batch_seed: int = 0) -> Package:
    """A small box of coloured board: all print dark, words in the middle, the code on the board or a white window."""
    rng = np.random.default_rng(seed * 5 + 2)
    maker, part, face = (str(rng.choice(c)) for c in (MAKERS, PARTS, [f for f in LETTERS if f]))
    width, height = float(rng.uniform(66, 78)), float(rng.uniform(60, 70))
    paper, ink = BOARDS[int(rng.integers(len(BOARDS)))], DARK[int(rng.integers(len(DARK)))]
    batch = variable(np.random.default_rng(seed * 1000 + 7 + batch_seed))
    windowed, low = bool(rng.random() < 0.6), height - 24.0
    size = (26.0, 9.0) if rng.random() < 0.5 else (12.0, 12.0)
    code = replace(_code(rng, size), rgb=ink, bare=not windowed)
    parts = [
        Element("stripes", "stripes", 3, 2.6, width - 6, 3.6, rgb=ink),
        _centred(Element("maker", "text", 0, 9.5, h=5.6, text=maker, rgb=ink, face=face), width),
        Element("logo", "ring", 4.0, 9.0, 6.6, 6.6, rgb=ink),
        Element("rule", "rect", 6, 18.0, width - 12, 0.6, rgb=ink),
        _centred(Element("designation", "text", 0, 20.6, h=4.6, text=part, rgb=ink, face=face), width),
        _centred(Element("line0", "text", 0, 28.2, h=2.1, text=_sentence(rng, 0), rgb=ink, face=face), width),
        _centred(Element("line1", "text", 0, 32.2, h=2.1, text=_sentence(rng, 3), rgb=ink), width),
    ]
    if windowed:
        window = Element("window", "rect", width - size[0] - 8, low, size[0] + 5, 21, rgb=(250, 250, 248))
        parts += [window, replace(code, x=window.x + 2.5, y=low + 1.8)]
        at = window.x + 2.5
        parts.append(Element("batch", "text", at, low + 16.0, h=1.9, text=batch[0], rgb=INK, variable=True))
    else:
        parts.append(replace(code, x=width - size[0] - 6, y=low + 2.5))
        at = width - 6 - 24.0
        parts.append(Element("batch", "text", at, low + 17.0, h=1.9, text=f"Lot {batch[0]}", rgb=ink, variable=True))
    parts += [
        Element("icon0", "triangle", 5.0, low + 0.5, 6.2, 5.6, rgb=ink),
        Element("icon1", "drop", 14.0, low + 0.5, 4.6, 5.8, rgb=ink),
        Element("mark", "rect", 5.0, low + 9.0, 13.5, 5.0, rgb=tuple(int(v * 0.55) for v in paper)),
        Element("footer", "text", 5.0, height - 5.2, h=1.8, text="Made in Slovenia", rgb=ink),
    ]
    roles = {
        "text_misspelt": ("maker", "line0", "line1", "footer"),
        "shifted": ("logo", "mark", "icon0", "icon1", "designation", "line1"),
        "missing": ("logo", "mark", "line0", "line1", "icon0", "footer", "designation", "rule", "code", "stripes"),
        "colour": ("mark",),
        "font": ("maker", "designation", "line0"),
    }
    return Package(width, height, paper, tuple(parts), maker, part, roles=tuple(roles.items()))


def _sentence(rng: np.random.Generator, first: int) -> str:
    return SENTENCES[first + int(rng.integers(3))]


def _centred(element: Element, width: float) -> Element:
    return replace(element, x=(width - box_of(element)[2]) / 2)


def _upright(middle: float, height: float, rng: np.random.Generator, *, face: str, rgb: Rgb) -> Element:
    """Text that runs up or down around a vertical line."""
    turn = 90 if rng.random() < 0.6 else 270
    element = Element("upright", "text", 0, 0, h=2.6, text=str(rng.choice(UPRIGHT)), rgb=rgb, face=face, turn=turn)
    _, _, w, h = box_of(element)
    return replace(element, x=middle - w / 2, y=(height - h) / 2)


def _code_size(rng: np.random.Generator) -> tuple[float, float]:
    """Linear across, linear upright or matrix."""
    return [(30.0, 9.0), (9.0, 28.0), (13.0, 13.0)][int(rng.integers(3))]


def _code(rng: np.random.Generator, size: tuple[float, float]) -> Element:
    """A code of a size: bars where it is long, upright where it is tall."""
    body = f"952{rng.integers(10**8, 10**9 - 1)}"
    gtin = body + check_digit(body)
    kind = "matrix" if size[0] == size[1] else "linear"
    text = gtin if kind == "linear" else f"https://example.org/{gtin}"
    return Element("code", kind, 0, 0, *size, text=text, turn=90 if size[1] > size[0] else 0)
