"""What a barcode said. Imports no reader library."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
CheckDigit = Literal["ok", "bad", "none"]


@dataclass(frozen=True, slots=True)
class CodeFields:
    """What a code's text means, as far as a standard says so. ``None`` where it says nothing."""

    gtin: str | None = None
    batch: str | None = None
    serial: str | None = None
    quantity: int | None = None
    designation: str | None = None
    """A part designation or customer/supplier part number carried by the code (P, 1P, AI 240/241, or plain)."""
    date: str | None = None
    """ISO 8601 date."""
    date_kind: str | None = None
    """``production``, ``packed``, ``best_before`` …, when the code says which."""
    country: str | None = None
    supplier: str | None = None
    order: str | None = None
    other: tuple[tuple[str, str], ...] = ()
    """Elements understood as standing under a known identifier without a field above: (identifier, value)."""
    unknown: tuple[str, ...] = ()
    """Elements that no table names."""


@dataclass(frozen=True, slots=True)
class CodeRead:
    """One code found in a photo, or one line from a handheld scanner."""

    symbology: str
    """As the standards write it: ``EAN-13``, ``Code 128``, ``Data Matrix``, ``QR Code`` …"""
    text: str
    reader: str
    corners_px: tuple[Point, ...] = ()
    symbology_identifier: str = ""
    """AIM identifier such as ``]C1``; empty when the reader gave none."""
    check_digit: CheckDigit = "none"
    confirmed_by: tuple[str, ...] = ()
    """Independent witnesses: ``second reader``, ``printed digits``, ``known article``."""
    fields: CodeFields = field(default_factory=CodeFields)
    remarks: tuple[str, ...] = ()
    """Sentences about what is odd in the content (wrong check digit, impossible date …)."""
