"""What may stand behind a key word: each reader takes the text there and returns a value or nothing."""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

from screener.vision.label_words import label_words, plain

if TYPE_CHECKING:
    from collections.abc import Callable

_LARGEST_QUANTITY = 100_000
_CODE = re.compile(r"[A-Z0-9][A-Z0-9/.\-_]{1,28}", re.IGNORECASE)
_YEARS = range(1970, 2100)


def quantity_of(text: str) -> int | None:
    """Return a number of pieces: digits first, behind them nothing or a word for pieces."""
    match = re.match(r"\W{0,3}(\d{1,6})(?:[ .]*(?:X|×)?[ ]*([A-ZА-Я/]+))?\W*(?=\s|$)", plain(text))
    if match is None or (match[2] and match[2] not in label_words().pieces):
        return None
    number = int(match[1])
    return number if 0 < number <= _LARGEST_QUANTITY else None


def bare_quantity_of(text: str) -> int | None:
    """Return a quantity that no key word introduces: a whole line such as ``10 PCS``."""
    match = re.fullmatch(r"\W*(\d{1,6})[ .]*([A-ZА-Я/]+)\W*", plain(text))
    return int(match[1]) if match and match[2] in label_words().pieces and int(match[1]) else None


def code_of(text: str) -> str | None:
    """Return a batch, serial or order code: one run of letters and digits with at least one digit."""
    match = _CODE.search(text)
    if match is None or match.start() > 2 or not re.search(r"\d", match[0]):
        return None
    return match[0].rstrip(".-/_")


def country_of(text: str) -> str | None:
    """Return the two letters of a country named at the beginning of the text."""
    words = plain(text).strip(" .:,-")
    countries = label_words().countries
    for name in sorted(countries, key=len, reverse=True):
        if re.match(rf"{re.escape(name)}(?![A-Z])", words):
            return countries[name]
    match = re.fullmatch(r"([A-Z]{2})\W*", words)
    return match[1] if match and match[1] in countries.values() else None


def date_of(text: str) -> str | None:
    """Return a date in ISO 8601, as exact as it is printed: day, month (``2026-05``) or week (``2026-W14``).

    Slashes leave open whether day or month comes first; such a date is read only when one of them is above 12.
    """
    text = plain(text).strip(" .:,;-")
    for pattern, meaning in _DATES:
        match = re.match(pattern, text)
        if match:
            return meaning(match)
    return None


def _day(year: str, month: str | int, day: str) -> str | None:
    try:
        date = dt.date(int(year), int(month), int(day))
    except ValueError:
        return None
    return date.isoformat() if date.year in _YEARS else None


def _month(year: str, month: str | int) -> str | None:
    return f"{int(year):04d}-{int(month):02d}" if 1 <= int(month) <= 12 and int(year) in _YEARS else None


def _week(year: str, week: str) -> str | None:
    return f"{int(year):04d}-W{int(week):02d}" if 1 <= int(week) <= 53 and int(year) in _YEARS else None


def _slashed(match: re.Match[str]) -> str | None:
    first, second, year = match.groups()
    if int(first) <= 12 and int(second) <= 12 and first != second:
        return None
    return _day(year, second, first) if int(second) <= 12 else _day(year, first, second)


def _named(year: str, name: str, day: str | None) -> str | None:
    month = label_words().months.get(name)
    if month is None:
        return None
    return _day(year, month, day) if day else _month(year, month)


_END = r"(?![0-9A-Z/\-])"
_DATES: tuple[tuple[str, Callable[[re.Match[str]], str | None]], ...] = (
    (rf"(\d{{4}})[\-./](\d{{1,2}})[\-./](\d{{1,2}}){_END}", lambda m: _day(m[1], m[2], m[3])),
    (rf"(\d{{1,2}})[.\-] ?(\d{{1,2}})[.\-] ?(\d{{4}}){_END}", lambda m: _day(m[3], m[2], m[1])),
    (rf"(\d{{1,2}})/(\d{{1,2}})/(\d{{4}}){_END}", _slashed),
    (rf"(\d{{1,2}})[ .\-]*([A-Z]{{3,10}})[ .\-]*(\d{{4}}){_END}", lambda m: _named(m[3], m[2], m[1])),
    (rf"([A-Z]{{3,10}})[ .\-]*(\d{{4}}){_END}", lambda m: _named(m[2], m[1], None)),
    (rf"(?:W|WEEK|KW|CW)[ .]*(\d{{1,2}})[ ./\-]*(\d{{4}}){_END}", lambda m: _week(m[2], m[1])),
    (rf"(\d{{4}})[ ./\-]*(?:W|WEEK|KW|CW)[ .]*(\d{{1,2}}){_END}", lambda m: _week(m[1], m[2])),
    (rf"(\d{{1,2}})[./\-] ?(\d{{4}}){_END}", lambda m: _month(m[2], m[1])),
    (rf"(\d{{4}})[./\-] ?(\d{{1,2}}){_END}", lambda m: _month(m[1], m[2])),
    (rf"(20\d\d)(0[1-9]|1[0-2])([0-2]\d|3[01]){_END}", lambda m: _day(m[1], m[2], m[3])),
)
