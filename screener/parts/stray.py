"""Words and numbers that stand beside a designation without belonging to it: quantities, positions, kind words."""

from __future__ import annotations

import re
from functools import cache

from screener.specs.table import read_rows

TABLE = "stray_words.csv"
_COUNT_WORD = r"(?:PCS|PC|PCE|PCES|PIECES?|STK|STCK|STÜCK|ST|EA|OFF|UNITS?|SETS?|NOS)"
_QUANTITY = re.compile(
    rf"(?<![0-9A-Z])(?:"
    rf"(?:QTY|QUANTITY|QUANT|MENGE|ANZAHL|Q'TY)[ .:=]*\d{{1,6}}(?: ?{_COUNT_WORD})?"
    rf"|\d{{1,3}} ?{_COUNT_WORD}"
    rf"|(?:POS|ITEM|LINE|POSITION)[ .:#]*\d{{1,4}}"
    r")(?![0-9A-Z])\.?"
)
# "2 x 6202 2RS", "1x 16x28x7": a count before a bearing number or before a whole size.
_TIMES = re.compile(r"^\W*\d{1,4} ?X (?=(?:[A-Z]{1,5}[ -]?)?\d{3,}|(?:[A-Z]{1,4} )?\d+ ?X ?\d+ ?X ?\d)")
_TRAILING_ZERO = re.compile(r"(?<=\d)[.,]0{1,2}(?=$| )")
_NUMBERED = re.compile(r"^\d{1,2}[.)] +(?=[A-Z0-9])")


@cache
def stray_words() -> frozenset[str]:
    """Return the words that may stand beside a designation and say nothing about it."""
    return frozenset(row.text("word") for row in read_rows(TABLE, ("word", "meaning", "source")))


def blank_stray(text: str) -> str:
    """Return a normalised text of the same length with quantities and stray words blanked.

    >>> blank_stray("6205 10 PCS").strip()
    '6205'
    """
    if text.isalnum() and not text.isalpha():
        return text
    return _WORD.sub(_blank_if_stray, blank_counts(text))


def blank_counts(text: str) -> str:
    """Return a normalised text of the same length with quantities, positions and a spreadsheet's ``.0`` blanked."""
    return _TRAILING_ZERO.sub(_blanks, _TIMES.sub(_blanks, _QUANTITY.sub(_blanks, text)))


_WORD = re.compile(r"(?<![0-9A-Z])[A-Z/]{2,}\.?(?![0-9A-Z])")


def _blank_if_stray(hit: re.Match[str]) -> str:
    word = hit[0].strip(".")
    return " " * len(hit[0]) if word in stray_words() else hit[0]


def _blanks(hit: re.Match[str]) -> str:
    return " " * len(hit[0])
