"""Barcodes for drawn labels, made by zxing-cpp and read back before they are used."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import zxingcpp

from drawing.surface import Array

FORMATS = {
    "gs1-128": zxingcpp.BarcodeFormat.Code128,
    "code-128": zxingcpp.BarcodeFormat.Code128,
    "code-39": zxingcpp.BarcodeFormat.Code39,
    "ean-13": zxingcpp.BarcodeFormat.EAN13,
    "gs1-datamatrix": zxingcpp.BarcodeFormat.DataMatrix,
    "datamatrix": zxingcpp.BarcodeFormat.DataMatrix,
    "gs1-qr": zxingcpp.BarcodeFormat.QRCode,
    "qr": zxingcpp.BarcodeFormat.QRCode,
}
IDENTIFIERS = {
    "gs1-128": "]C1",
    "code-128": "]C0",
    "code-39": "]A0",
    "ean-13": "]E0",
    "gs1-datamatrix": "]d2",
    "datamatrix": "]d1",
    "gs1-qr": "]Q3",
    "qr": "]Q1",
}
"""Symbology identifier (ISO/IEC 15424) that a reader must report for each kind."""
LINEAR = {"gs1-128", "code-128", "code-39", "ean-13"}


class BarcodeNotReadableError(RuntimeError):
    """A drawn symbol did not read back as what was asked for."""


@dataclass(frozen=True, slots=True)
class Code:
    """One symbol: its kind (a key of ``FORMATS``) and content; GS1 content has its identifiers in parentheses."""

    kind: str
    content: str

    @property
    def linear(self) -> bool:
        """True for bars, False for a matrix."""
        return self.kind in LINEAR


def check_digit(digits: str) -> str:
    """GS1 modulo-10 check digit of a number without its check digit (weights 3, 1 from the right)."""
    total = sum(int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(digits)))
    return str(-total % 10)


def gtin14(body: str) -> str:
    """Make a GTIN-14 from 12 digits: leading zero, body, check digit. Prefix 952 is kept by GS1 for examples."""
    return "0" + body + check_digit(body)


def gs1(*, gtin: str, batch: str = "", serial: str = "", quantity: int = 0, packed: str = "") -> str:
    """Write GS1 element strings with parentheses; ``packed`` is YYMMDD."""
    parts = [("01", gtin), ("13", packed), ("30", str(quantity) if quantity else ""), ("10", batch), ("21", serial)]
    return "".join(f"({key}){value}" for key, value in parts if value)


def iso15434(**fields: str) -> str:
    """Make an ISO/IEC 15434 format 06 envelope of MH10.8.2 data; keyword ``P1`` stands for 1P, ``T1`` for 1T."""
    data = [(key[1] + key[0] if len(key) == 2 else key) + value for key, value in fields.items() if value]
    return "[)>\x1e06\x1d" + "\x1d".join(data) + "\x1e\x04"


def bars(code: Code, module_px: int, height_px: int = 0) -> Array:
    """Draw a symbol with its quiet zone, uint8, black on white.

    Raises
    ------
    BarcodeNotReadableError
        If it does not read back with the right content or symbology identifier.
    """
    options = {"gs1": True} if code.kind.startswith("gs1") else {}
    if code.kind.endswith("datamatrix"):
        options["force_square"] = True  # else the writer may choose the rectangular extension (identifier ]d8)
    symbol = zxingcpp.create_barcode(code.content, FORMATS[code.kind], **options)
    ink = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=True))
    if code.linear:
        ink = np.repeat(ink[ink.shape[0] // 2][None], max(1, height_px // module_px), axis=0)
    ink = np.kron(ink, np.ones((module_px, module_px), np.uint8))
    _read_back(code, ink)
    return ink


def _read_back(code: Code, ink: Array) -> None:
    white = np.pad(ink, 24, constant_values=255)
    found = zxingcpp.read_barcodes(white, text_mode=zxingcpp.TextMode.Plain)
    got = [(item.symbology_identifier, item.text) for item in found]
    plain = code.content if not code.kind.startswith("gs1") else None
    good = [g for g in got if g[0] == IDENTIFIERS[code.kind] and (plain is None or g[1].startswith(plain))]
    if not good:
        raise BarcodeNotReadableError(f"{code.kind} {code.content!r} read back as {got}")
