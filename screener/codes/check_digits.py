"""Check digits and check pairs of the GS1 system: pure arithmetic, nothing about who issued a number."""

from __future__ import annotations

# GS1 General Specifications 7.9.5: the prime weights and the 82 and 32 characters of the check pair (GMN, MUDI).
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83)
_CSET82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
_CSET32 = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"

GTIN_LENGTHS = (8, 12, 13, 14)


def is_digits(text: str) -> bool:
    """Tell whether the text is made of the ten ASCII digits only (``str.isdigit`` also takes superscripts)."""
    return text.isascii() and text.isdigit()


def gs1_check_digit(payload: str) -> int:
    """Return the check digit of a GS1 number given without it.

    Weights 3, 1, 3 … from the right over the data digits (GS1 General Specifications 7.9.1).

    Raises
    ------
    ValueError
        If the payload holds anything but digits.
    """
    if not is_digits(payload):
        raise ValueError(payload)
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(payload)))
    return -total % 10


def gs1_number_holds(number: str) -> bool:
    """Tell whether the last digit of a GS1 number (GTIN, SSCC, GLN …) is its check digit."""
    return len(number) > 1 and is_digits(number) and gs1_check_digit(number[:-1]) == int(number[-1])


def gtin_holds(number: str) -> bool:
    """Tell whether the text has the length of a GTIN and a right check digit."""
    return len(number) in GTIN_LENGTHS and gs1_number_holds(number)


def gs1_check_pair(payload: str) -> str | None:
    """Return the two check characters of a Global Model Number given without them.

    ``None`` when a character is outside the GS1 set of 82 or the text is longer than 23 characters.
    Source: GS1 General Specifications 7.9.5.
    """
    if len(payload) > len(_PRIMES) or any(character not in _CSET82 for character in payload):
        return None
    weights = reversed(_PRIMES[: len(payload)])
    total = sum(_CSET82.index(character) * weight for character, weight in zip(payload, weights, strict=True)) % 1021
    return _CSET32[total >> 5] + _CSET32[total & 31]


def check_pair_holds(text: str) -> bool:
    """Tell whether the last two characters of a Global Model Number are its check pair."""
    return len(text) > 2 and gs1_check_pair(text[:-2]) == text[-2:]


def expand_upc_e(number: str) -> str | None:
    """Return the twelve digits behind an eight-digit UPC-E number, ``None`` if it is none.

    Source: GS1 General Specifications 5.2.2.4.2 (zero suppression).
    """
    if len(number) != 8 or not is_digits(number) or number[0] not in "01":
        return None
    system, body, last, check = number[0], number[1:6], number[6], number[7]
    if last in "012":
        middle = f"{body[:2]}{last}0000{body[2:5]}"
    elif last == "3":
        middle = f"{body[:3]}00000{body[3:5]}"
    elif last == "4":
        middle = f"{body[:4]}00000{body[4]}"
    else:
        middle = f"{body}0000{last}"
    return f"{system}{middle}{check}"
