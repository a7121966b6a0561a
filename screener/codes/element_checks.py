"""The named checks of the GS1 syntax dictionary: a name in the table is a function here.

Each takes one component's text and returns a sentence about what is wrong, or ``None``. Names that are not here
(company prefix position, coupon and media lists) need registers that this project does not carry.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

from screener.codes.check_digits import check_pair_holds, gs1_number_holds, is_digits
from screener.codes.dates import read_date

if TYPE_CHECKING:
    from collections.abc import Callable

# Any day serves: the checks ask only whether the digits can be a date.
_SOME_DAY = dt.date(2024, 2, 29)
CHECK_DIGIT_NAMES = ("csum", "csumalpha", "iban")


def problem_with(name: str, text: str) -> str | None:
    """Run the check of that name; ``None`` when it holds or the name is not known here."""
    check = _CHECKS.get(name)
    return None if check is None else check(text)


def _csum(text: str) -> str | None:
    return None if gs1_number_holds(text) else f"the check digit of {text} does not fit the number"


def _csumalpha(text: str) -> str | None:
    return None if check_pair_holds(text) else f"the check pair of {text} does not fit the number"


def _iban(text: str) -> str | None:
    """Check an account number by ISO 7064 mod 97-10."""
    if not re.fullmatch(r"[A-Z]{2}[0-9]{2}[A-Z0-9]+", text):
        return f"{text} is not an IBAN"
    moved = text[4:] + text[:4]
    number = int("".join(str(int(character, 36)) for character in moved))
    return None if number % 97 == 1 else f"the check digits of {text} do not fit the account number"


def _date(form: str) -> Callable[[str], str | None]:
    return lambda text: None if read_date(text, form, _SOME_DAY) else f"{text} is not a date ({form})"


def _below(limits: tuple[int, ...], what: str) -> Callable[[str], str | None]:
    """Check two-digit pairs, each below its limit."""

    def check(text: str) -> str | None:
        pairs = [text[place : place + 2] for place in range(0, len(text), 2)]
        fits = is_digits(text) and all(int(pair) < limit for pair, limit in zip(pairs, limits, strict=False))
        return None if fits else f"{text} is not {what}"

    return check


def _one_of(values: str, what: str) -> Callable[[str], str | None]:
    return lambda text: None if text in values.split() else f"{text} is not {what}"


def _matches(pattern: str, what: str) -> Callable[[str], str | None]:
    return lambda text: None if re.fullmatch(pattern, text) else f"{text} is not {what}"


def _pieceoftotal(text: str) -> str | None:
    piece, total = int(text[:2]), int(text[2:])
    return None if 0 < piece <= total else f"piece {piece} of {total} is impossible"


def _within(limit: int, what: str) -> Callable[[str], str | None]:
    return lambda text: None if int(text) <= limit else f"{text} is not {what}"


_CHECKS: dict[str, Callable[[str], str | None]] = {
    "csum": _csum,
    "csumalpha": _csumalpha,
    "iban": _iban,
    "yymmdd": _date("YYMMDD"),
    "yymmd0": _date("YYMMD0"),
    "yyyymmdd": _date("YYYYMMDD"),
    "hhmi": lambda text: None if text == "9999" else _below((24, 60), "a time of day")(text),
    "hh": _below((24,), "an hour"),
    "mi": _below((60,), "a minute"),
    "ss": _below((60,), "a second"),
    "zero": _one_of("0", "zero"),
    "nonzero": _matches(r"[0-9]*[1-9][0-9]*", "above zero"),
    "nozeroprefix": _matches(r"0|[1-9][0-9]*", "free of leading zeros"),
    "yesno": _one_of("0 1", "0 or 1"),
    "winding": _one_of("0 1 9", "a winding direction (0, 1, 9)"),
    "hyphen": _one_of("-", "a minus sign"),
    "iso5218": _one_of("0 1 2 9", "a code of ISO/IEC 5218"),
    "iso3166": _matches(r"[0-9]{3}", "a country number"),
    "iso3166alpha2": _matches(r"[A-Z]{2}", "a country of two letters"),
    "hasnondigit": _matches(r".*[^0-9].*", "a text with a character other than digits"),
    "pcenc": _matches(r"(?:[^%]|%[0-9A-Fa-f]{2})*", "percent-encoded"),
    "posinseqslash": _matches(r"[1-9]/[1-9]", "a place in a sequence"),
    "pieceoftotal": _pieceoftotal,
    "latitude": _within(1_800_000_000, "a latitude"),
    "longitude": _within(3_600_000_000, "a longitude"),
}
