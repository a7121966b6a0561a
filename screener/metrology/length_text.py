"""Lengths as people type them: decimal point or comma, millimetres, or inches where they say so."""

from __future__ import annotations

import re

from screener.errors import WrongUsage

MM_PER_INCH = 25.4
_UNIT = re.compile(r"\s*(mm|inches|inch|in|\"|″)\s*$", re.IGNORECASE)
_UNIT_APART = re.compile(r"(?<=\d)\s+(?=(?:mm|inches|inch|in|\"|″)(?:[\s,;]|$))", re.IGNORECASE)


def length_mm(text: str, where: str) -> float:
    """Return one length in millimetres: ``25.009``, ``25,009``, ``25.009 mm``, ``1.9689in``.

    Raises
    ------
    WrongUsage
        It is no number.
    """
    unit = _UNIT.search(text)
    bare = text[: unit.start()] if unit else text
    try:
        value = float(bare.strip().replace(",", "."))
    except ValueError:
        raise WrongUsage(
            f"“{text}” is no reading.",
            where=where,
            next_step="Write millimetres, 25.009, or inches with their unit, 0.9846in.",
            code="reading",
        ) from None
    # To a tenth of a micrometre: what no instrument shows is noise of the conversion.
    return value if unit is None or unit[1].lower() == "mm" else round(value * MM_PER_INCH, 4)


def lengths_mm(text: str, where: str) -> tuple[float, ...]:
    """Return several lengths typed into one field: ``25.009 25.011``, ``25,009 25,011`` or ``25.009, 25.011``.

    Raises
    ------
    WrongUsage
        One of them is no number.
    """
    found: list[float] = []
    for word in _UNIT_APART.sub("", text.replace(";", " ")).split():
        bare = word.strip(",")
        # A comma parts two readings where a point is the decimal sign; else it is the decimal sign itself.
        found += [length_mm(piece, where) for piece in (bare.split(",") if "." in bare else [bare]) if piece]
    return tuple(found)


def inches_hint(value: float, nominal_mm: float, within: float) -> str:
    """Return that a reading looks like inches, where it would then belong to this size; else ""."""
    if not abs(value * MM_PER_INCH - nominal_mm) <= within * nominal_mm:
        return ""
    return f"It looks like inches ({value * MM_PER_INCH:.3f} mm): write {value:g}in. "
