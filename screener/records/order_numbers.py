"""Quantities and prices as people write them. What could be read two ways is not read."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation

_QUANTITY = re.compile(r"(?:x\s*)?(\d{1,7})(?:[.,]0+)?\s*(?:x|[^\W\d_]{1,9}\.?)?", re.IGNORECASE)
_THOUSANDS_OR_DECIMALS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_GROUPED = re.compile(r"\d{1,3}(?:[ '’.,]\d{3})*(?:[.,]\d{1,2})?")


def read_quantity(text: str) -> int | None:
    """Return a count of pieces (``4``, ``4 pcs``, ``4,0``), or None; ``1.000`` may be one or a thousand: None."""
    if _THOUSANDS_OR_DECIMALS.match(text):
        return None
    found = _QUANTITY.fullmatch(text)
    return int(found[1]) if found else None


def read_price(text: str) -> Decimal | None:
    """Return an amount (``12,50 €``, ``1.234,56``), or None; ``1.234`` may be either: None."""
    amount = re.sub(r"[^\d.,'’ -]", "", text).strip()
    if not amount or amount.startswith("-") or _THOUSANDS_OR_DECIMALS.fullmatch(amount):
        return None
    if not (_GROUPED.fullmatch(amount) or re.fullmatch(r"\d+(?:[.,]\d+)?", amount)):
        return None
    whole, cents = _split_at_decimal_sign(amount)
    try:
        digits = re.sub(r"[^0-9]", "", whole)
        return Decimal(f"{digits}.{cents}" if cents else digits)
    except InvalidOperation:
        return None


def _split_at_decimal_sign(amount: str) -> tuple[str, str]:
    last = max(amount.rfind("."), amount.rfind(","))
    if last < 0 or (len(amount) - last - 1 == 3 and amount.count(amount[last]) > 1):
        return amount, ""
    return amount[:last], amount[last + 1 :]
