"""Numbers written as sizes (``35x52x7``, ``16 x 28 x 7``, ``35-52-7``), in every separator people use."""

from __future__ import annotations

import re
from typing import NamedTuple

_NUMBER = r"(?:\d{1,4}(?:[.,]\d{1,3})?)"
_BETWEEN = r"(?: ?(?:[X/\-:]|BY) ?| {1,3})"
_MM = r"(?: ?MM)?"
TRIPLE = re.compile(
    rf"(?<![0-9.,])({_NUMBER}){_MM}({_BETWEEN})({_NUMBER}){_MM}({_BETWEEN})({_NUMBER})(?:/({_NUMBER}))?{_MM}(?![0-9]|[.,]\d)"
)
_COMMA_TRIPLE = re.compile(r"(?<![0-9.,])(\d{1,3})(, ?)(\d{1,3})(, ?)(\d{1,2})()(?![0-9]|[.,]\d)")
PAIR = re.compile(rf"(?<![0-9.,X/\-])({_NUMBER}){_MM} ?X ?({_NUMBER}){_MM}(?![0-9X/]|[.,]\d| ?[X])")


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
    found = []
    for pattern in (TRIPLE, _COMMA_TRIPLE):
        for hit in pattern.finditer(text):
            between = {hit[2].strip(), hit[4].strip()}
            if len(between) > 1:
                continue
            first, second, third = read_number(hit[1]), read_number(hit[3]), read_number(hit[5])
            lip = read_number(hit[6]) if hit[6] else None
            found.append(Triple(first, second, third, lip, hit.start(), hit.end(), "X" in between or "BY" in between))
        if found:
            break
    return found
