"""The first family of layouts: a carton's panel with a coloured band, text on the left, a code on the right."""

from __future__ import annotations

import numpy as np
from drawing.barcodes import check_digit
from vision.reference.panel_model import MAKERS, PARTS, SENTENCES, Element, Package, band_colour, variable


def carton(seed: int, *, batch_seed: int = 0) -> Package:
    """Lay out a package; ``batch_seed`` changes only what varies from box to box."""
    rng = np.random.default_rng(seed)
    maker, part = str(rng.choice(MAKERS)), str(rng.choice(PARTS))
    width, height = float(rng.uniform(88, 108)), float(rng.uniform(63, 76))
    ink = (22, 22, 24)
    band = band_colour(rng)
    second = band_colour(rng)
    m = 4.0
    band_h = float(rng.uniform(9.5, 13))
    top = bool(rng.random() < 0.6)
    band_y = 0.0 if top else height - band_h
    pale = sum(band) > 430
    y = (band_h + 3.0) if top else 4.0
    parts = [
        Element("band", "rect", 0, band_y, width, band_h, rgb=band),
        Element("maker", "text", m, band_y + band_h / 2 - 3, h=5.4, text=maker, rgb=ink if pale else (248, 248, 246)),
        Element(
            "logo",
            str(rng.choice(["disc", "ring"])),
            width - m - 8,
            band_y + band_h / 2 - 3.6,
            7.2,
            7.2,
            rgb=ink if pale else (248, 248, 246),
        ),
    ]
    batch = variable(np.random.default_rng(seed * 1000 + 7 + batch_seed))
    parts.append(Element("designation", "text", m, y, h=5.0, text=part))
    y += 9.2
    lines = list(rng.permutation(SENTENCES)[:3])
    for number, words in enumerate(lines):
        parts.append(Element(f"line{number}", "text", m, y, h=2.3, text=str(words)))
        y += 4.6
    for name, words in (("batch", f"Batch: {batch[0]}"), ("date", f"Date: {batch[1]}"), ("quantity", "Qty: 10 pcs")):
        parts.append(Element(name, "text", m, y, h=2.3, text=words, variable=name != "quantity"))
        y += 4.5
    parts.append(Element("mark", "rect", width - m - 13, (band_h + 4 if top else 5.0), 12, 6.5, rgb=second))
    body = f"952{rng.integers(10**8, 10**9 - 1)}"
    gtin = body + check_digit(body)
    code_y = (band_h + 14.0) if top else 15.0
    if rng.random() < 0.6:
        parts.append(Element("code", "linear", width - m - 33, code_y + 6, 32, 9, text=gtin))
    else:
        parts.append(Element("code", "matrix", width - m - 15, code_y, 14, 14, text=f"https://example.org/{gtin}"))
    parts.append(
        Element(
            "footer",
            "text",
            m,
            (height - 5.4) if top else (band_y - 5.0),
            h=1.9,
            text="Made in Slovakia. Recycle this box.",
        )
    )
    if rng.random() < 0.5:
        parts.append(Element("seal", "ring", width - m - 44, (height - 14) if top else (band_y - 14), 7, 7, rgb=second))
    paper = (246, 245, 241) if rng.random() < 0.7 else (238, 234, 222)
    return Package(width, height, paper, tuple(parts), maker, part)
