"""Numbers written as sizes (``35x52x7``, ``16 x 28 x 7``, ``35-52-7``), in every separator people use."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

_LARGEST_UNSURE_MM = 1000
_NUMBER = r"(?:\d{1,4}(?:[.,]\d{1,3})?)"
_BETWEEN = r"(?: ?(?:[X/\-:]|BY) ?| {1,3})"
_MM = r"(?: ?MM)?"
TRIPLE = re.compile(
    rf"(?<![0-9.,])(?<!\dX)({_NUMBER}){_MM}({_BETWEEN})({_NUMBER}){_MM}({_BETWEEN})({_NUMBER})(?:/({_NUMBER}))?{_MM}"
    r"(?![0-9]|[.,]\d| ?X ?\d)"
)
_COMMA_TRIPLE = re.compile(r"(?<![0-9.,])(\d{1,3})(, ?)(\d{1,3})(, ?)(\d{1,2})()(?![0-9]|[.,]\d)")
PAIR = re.compile(rf"(?<![0-9.,X/\-])(?<!\d )({_NUMBER}){_MM} ?X ?({_NUMBER}){_MM}(?![0-9X/]|[.,]\d| ?[X])")


class Triple(NamedTuple):
    """Three numbers and where they stand."""

    first: float
    second: float
    third: float
    lip_width: float | None
    start: int
    end: int
    sure: bool
    """Written with a times sign: cannot be a date or a list."""


def read_number(text: str) -> float:
    """Return a number written with a point or a comma."""
    return float(text.replace(",", "."))


def triples(text: str) -> list[Triple]:
    """Return every run of exactly three numbers in a normalised text that is written as a size."""
    found = list(_matches(TRIPLE, text))
    return found or list(_matches(_COMMA_TRIPLE, text))


def _matches(pattern: re.Pattern[str], text: str) -> Iterator[Triple]:
    place = 0
    while (hit := pattern.search(text, place)) is not None:
        read = _read(hit)
        # "6205 25x52x15": a number with another sign before it is not part of the size.
        place = hit.end() if read is not None else hit.start() + len(hit[1])
        if read is not None:
            yield read


def _read(hit: re.Match[str]) -> Triple | None:
    between = hit[2].strip(), hit[4].strip()
    if between[0] != between[1] and between not in {("X", "/"), ("X", "-")}:
        return None
    first, second, third = read_number(hit[1]), read_number(hit[3]), read_number(hit[5])
    sure = hit[2].strip() in {"X", "BY"}
    if not sure and max(first, second, third) >= _LARGEST_UNSURE_MM:
        return None
    return Triple(first, second, third, read_number(hit[6]) if hit[6] else None, hit.start(), hit.end(), sure)
