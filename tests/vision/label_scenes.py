"""Printed labels in ten layouts, drawn on a box under light, tilt and noise. Makers and numbers are invented."""

from __future__ import annotations

import random
from dataclasses import dataclass

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

MAKERS = ("BRENVOK", "TALQUIST", "ORSAMIL", "QUORVEX", "ZELTIMAR")
PARTS = (
    "6205-2RS C3",
    "6004-2Z",
    "6306 C3",
    "608-2RS",
    "35x52x7",
    "6202-2RSR",
    "16005",
    "25x47x7",
    "6310-2Z C3",
    "NU205",
)
COUNTRIES = {"Germany": "DE", "Italy": "IT", "Poland": "PL", "Slovakia": "SK"}

# Each layout: rows of (x, y, height, text). What a row's text names in braces is what the label states.
LAYOUTS: tuple[tuple[tuple[int, int, int, str], ...], ...] = (
    (  # key left, value right
        (40, 30, 64, "{maker}"),
        (40, 150, 34, "Type:"), (260, 148, 38, "{designation}"),
        (40, 220, 34, "Qty:"), (260, 218, 38, "{quantity} pcs"),
        (40, 290, 34, "Batch:"), (260, 288, 38, "{batch}"),
        (40, 420, 30, "Made in {country}"),
    ),
    (  # key and value in one line
        (40, 40, 80, "{designation}"),
        (40, 170, 36, "QTY: {quantity} PCS"),
        (40, 230, 36, "LOT NO: {batch}"),
        (40, 290, 36, "DATE: {date}"),
        (560, 460, 56, "{maker}"),
    ),
    (  # small key above its value
        (40, 30, 60, "{maker}"),
        (40, 140, 22, "Designation"), (40, 170, 48, "{designation}"),
        (40, 270, 22, "Quantity"), (40, 300, 44, "{quantity}"),
        (400, 270, 22, "Batch no."), (400, 300, 44, "{batch}"),
        (40, 420, 22, "Country of origin"), (40, 450, 34, "{country}"),
    ),
    (  # German
        (40, 30, 58, "{maker}"),
        (40, 120, 28, "Rillenkugellager"),
        (40, 180, 34, "Bezeichnung"), (340, 178, 40, "{designation}"),
        (40, 250, 34, "Menge"), (340, 250, 36, "{quantity} Stück"),
        (40, 320, 34, "Charge"), (340, 320, 36, "{batch}"),
        (40, 390, 34, "Art.-Nr."), (340, 390, 36, "{order_code}"),
    ),
    (  # French
        (300, 30, 58, "{maker}"),
        (40, 150, 34, "Référence : {order_code}"),
        (40, 220, 50, "{designation}"),
        (40, 320, 34, "Quantité : {quantity}"),
        (40, 390, 34, "Lot : {batch}"),
        (40, 460, 34, "Fabriqué en {country}"),
    ),
    (  # barcode below, digits under it
        (40, 30, 56, "{maker}"),
        (40, 120, 70, "{designation}"),
        (40, 220, 34, "Qty {quantity}"), (400, 220, 34, "Lot {batch}"),
        (60, 300, 0, "EAN"),
    ),
    (  # two columns
        (40, 30, 46, "{maker}"), (480, 36, 28, "DEEP GROOVE BALL BEARING"),
        (40, 140, 30, "ITEM"), (200, 138, 36, "{designation}"),
        (500, 140, 30, "QTY"), (640, 138, 36, "{quantity}"),
        (40, 230, 30, "S/N"), (200, 228, 36, "{serial}"),
        (500, 230, 30, "LOT"), (640, 228, 36, "{batch}"),
        (40, 320, 30, "PACKED"), (240, 318, 36, "{date}"),
    ),
    (  # bare: no key words but one
        (60, 60, 70, "{maker}"),
        (60, 190, 90, "{designation}"),
        (60, 340, 44, "{quantity} PCS"),
        (60, 430, 40, "Batch {batch}"),
    ),
    (  # Italian
        (40, 30, 58, "{maker}"),
        (40, 140, 34, "Tipo: {designation}"),
        (40, 210, 34, "Quantità: {quantity} pz"),
        (40, 280, 34, "Lotto: {batch}"),
        (40, 350, 34, "Data: {date}"),
        (40, 420, 34, "Prodotto in {country}"),
    ),
    (  # dense, with things that are no fields
        (40, 24, 44, "{maker}"), (560, 30, 24, "www.example.org"),
        (40, 100, 26, "Part no."), (240, 96, 34, "{designation}"),
        (40, 160, 26, "Order code"), (240, 156, 34, "{order_code}"),
        (40, 220, 26, "Quantity"), (240, 216, 34, "{quantity} PCS"),
        (40, 280, 26, "Batch"), (240, 276, 34, "{batch}"),
        (40, 340, 26, "Weight"), (240, 336, 34, "0.128 kg"),
        (40, 400, 22, "Keep dry. Do not open before use. ISO 15"),
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Drawn:
    """One label and what it states (field name to value as :class:`LabelFields` gives it)."""

    picture: NDArray[np.uint8]
    truth: dict[str, object]


def draw_label(layout: int, seed: int, font: str = "") -> Drawn:
    """Draw one label flat; ``layout`` is an index of ``LAYOUTS``, ``font`` a file, Pillow's own when empty."""
    rng = random.Random(1000 * layout + seed)
    country = rng.choice(list(COUNTRIES))
    said: dict[str, object] = {
        "designation": rng.choice(PARTS),
        "quantity": rng.choice((1, 2, 5, 10, 20, 50)),
        "batch": f"{rng.choice('ABHKT')}{rng.randint(1000, 99999)}",
        "maker": rng.choice(MAKERS),
        "country": country,
        "date": f"{rng.randint(2023, 2025)}-{rng.randint(1, 12):02d}-{rng.randint(1, 28):02d}",
        "order_code": f"{rng.randint(100, 999)}-{rng.randint(1000, 9999)}",
        "serial": f"{rng.randint(10**6, 10**8)}",
    }
    image = Image.new("L", (900, 560), 250)
    pen = ImageDraw.Draw(image)
    pen.rectangle((4, 4, 895, 555), outline=60, width=2)
    stated: dict[str, object] = {}
    for x, y, height, text in LAYOUTS[layout]:
        if text == "EAN":
            bars = zxingcpp.create_barcode(f"95211010{rng.randint(1000, 9999)}", zxingcpp.BarcodeFormat.EAN13)
            image.paste(Image.fromarray(np.array(bars.to_image(scale=3, add_hrt=True))), (x, y))
            continue
        stated |= {name: value for name, value in said.items() if f"{{{name}}}" in text}
        # Pillow carries this font itself, so that the drawing is the same on every machine.
        face = ImageFont.truetype(font, height) if font else ImageFont.load_default(height)
        pen.text((x, y), text.format(**said), fill=20, font=face)
    if "country" in stated:
        stated["country"] = COUNTRIES[country]
    return Drawn(np.asarray(image, dtype=np.uint8), stated)


def photograph(
    flat: NDArray[np.uint8], seed: int, *, tilt_deg: float = 0.0, size: tuple[int, int] = (960, 1280)
) -> NDArray[np.uint8]:
    """Lay a flat label on a brown box and photograph it: turned, in perspective, unevenly lit, blurred, noisy. RGB."""
    rng = np.random.default_rng(seed)
    height, width = size
    box = np.full((height, width, 3), (150, 115, 80), np.float32)
    box += cv2.resize(rng.normal(0, 9, (height // 6, width // 6)).astype(np.float32), (width, height))[:, :, None]
    h, w = flat.shape
    angle = np.radians(tilt_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
    seen = (
        (corners - (w / 2, h / 2))
        @ turn.T
        * min(1.05, 0.95 * height / max(w * abs(turn[1, 0]) + h * abs(turn[0, 0]), 1))
    )
    seen += (width / 2, height / 2) + rng.uniform(-0.03, 0.03, (4, 2)) * w
    shape = cv2.getPerspectiveTransform(corners, seen.astype(np.float32))
    sheet = cv2.warpPerspective(flat.astype(np.float32), shape, (width, height), flags=cv2.INTER_AREA)
    mask = cv2.warpPerspective(np.ones(flat.shape, np.float32), shape, (width, height))[:, :, None]
    picture = box * (1 - mask) + sheet[:, :, None] * np.array((0.97, 0.96, 0.92)) * mask
    light = np.linspace(rng.uniform(0.65, 1), rng.uniform(0.65, 1), width)[None, :, None]
    blurred = cv2.GaussianBlur(picture * light, (0, 0), rng.uniform(0.6, 1.1))
    return np.clip(blurred + rng.normal(0, 5, picture.shape), 0, 255).astype(np.uint8)
