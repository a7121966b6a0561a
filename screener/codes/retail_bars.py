"""The bars of EAN and UPC symbols as the standard draws them: digits to modules and back (ISO/IEC 15420)."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from screener.codes.check_digits import expand_upc_e, is_digits

if TYPE_CHECKING:
    from numpy.typing import NDArray

DigitKind = Literal["left", "left odd", "right"]

_ODD = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
_RIGHT = tuple(code.translate(str.maketrans("01", "10")) for code in _ODD)
_EVEN = tuple(code[::-1] for code in _RIGHT)
# Which of the left digits are even tells the first digit of thirteen; of UPC-E, system 0 and check digit.
_FIRST = ("OOOOOO", "OOEOEE", "OOEEOE", "OOEEEO", "OEOOEE", "OEEOOE", "OEEEOO", "OEOEOE", "OEOEEO", "OEEOEO")
_UPC_E = ("EEEOOO", "EEOEOO", "EEOOEO", "EEOOOE", "EOEEOO", "EOOEEO", "EOOOEE", "EOEOEO", "EOEOOE", "EOOEOE")
_SWAPPED = str.maketrans("OE", "EO")


def drawing(number: str, symbology: str) -> NDArray[np.uint8] | None:
    """Return the modules of a retail number, 1 for a bar; ``None`` for what is no such number.

    Parameters
    ----------
    number
        13 digits (EAN-13), 12 or 13 with a leading zero (UPC-A), 8 (EAN-8, UPC-E), whatever the check digit. A UPC-E
        may be given as the number that it stands for.
    symbology
        As in :class:`~screener.codes.model.CodeRead`.
    """
    if not is_digits(number):
        return None
    if symbology in ("EAN-13", "UPC-A") and len(number) in (12, 13):
        number = number.zfill(13)
        bits = "101" + _left(number[1:7], _FIRST[int(number[0])]) + "01010" + _right(number[7:]) + "101"
    elif symbology == "EAN-8" and len(number) == 8:
        bits = "101" + _left(number[:4], "OOOO") + "01010" + _right(number[4:]) + "101"
    elif symbology == "UPC-E" and (number := suppressed(number)):
        parity = _UPC_E[int(number[7])]
        bits = "101" + _left(number[1:7], parity if number[0] == "0" else parity.translate(_SWAPPED)) + "010101"
    else:
        return None
    return np.frombuffer(bits.encode(), np.uint8) - ord("0")


def number_of(modules: NDArray[np.uint8], symbology: str) -> str | None:
    """Return the digits that modules spell; ``None`` when the parities mean no number."""
    bits = "".join(map(str, modules))
    read = [_digit(bits[start : start + 7]) for start, _ in places_of_digits(symbology)]
    if any(one is None for one in read):
        return None
    digits = "".join(one[0] for one in read if one)
    parity = "".join(one[1] for one in read if one)
    if symbology == "EAN-8":
        return digits
    if symbology == "UPC-E":
        return _upc_e(digits, parity)
    first = _FIRST.index(parity[:6]) if parity[:6] in _FIRST else None
    if first is None:
        return None
    return digits if symbology == "UPC-A" and first == 0 else f"{first}{digits}"


def places_of_digits(symbology: str) -> tuple[tuple[int, DigitKind], ...]:
    """Return for each digit the module at which it begins, and which of the drawings may stand there."""
    if symbology == "UPC-E":
        return tuple((3 + 7 * place, "left") for place in range(6))
    half = 4 if symbology == "EAN-8" else 6
    left: DigitKind = "left odd" if symbology == "EAN-8" else "left"
    lefts = tuple((3 + 7 * place, left) for place in range(half))
    return lefts + tuple((8 + 7 * (half + place), "right") for place in range(half))


@cache
def digit_drawings(kind: DigitKind) -> NDArray[np.uint8]:
    """Return the drawings of the digits of one kind, shape (10 or 20, 7)."""
    codes = {"left": _ODD + _EVEN, "left odd": _ODD, "right": _RIGHT}[kind]
    return np.array([list(map(int, code)) for code in codes], np.uint8)


def _left(digits: str, parity: str) -> str:
    return "".join((_ODD if even == "O" else _EVEN)[int(digit)] for digit, even in zip(digits, parity, strict=True))


def _right(digits: str) -> str:
    return "".join(_RIGHT[int(digit)] for digit in digits)


def _digit(code: str) -> tuple[str, str] | None:
    for codes, parity in ((_ODD, "O"), (_EVEN, "E"), (_RIGHT, "R")):
        if code in codes:
            return str(codes.index(code)), parity
    return None


def _upc_e(digits: str, parity: str) -> str | None:
    for system, pattern in (("0", parity), ("1", parity.translate(_SWAPPED))):
        if pattern in _UPC_E:
            return f"{system}{digits}{_UPC_E.index(pattern)}"
    return None


def suppressed(number: str) -> str:
    """Return the eight digits of a UPC-E, given as such or as the number that they stand for; empty for another."""
    if len(number) == 8:
        return number if number[0] in "01" else ""
    full = number.zfill(13)[1:]
    bodies = (
        full[1:3] + full[8:11] + full[3],
        full[1:4] + full[9:11] + "3",
        full[1:5] + full[10] + "4",
        full[1:6] + full[10],
    )
    eights = (full[0] + body + full[-1] for body in bodies)
    return next((eight for eight in eights if expand_upc_e(eight) == full), "")
