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
_SHORTEST_NAME = 4
_TRAILING_ZERO = re.compile(r"(?<=\d)[.,]0{1,2}(?=$| )")


@cache
def stray_words(applies_to: str = "any") -> frozenset[str]:
    """Return the words that may stand beside a designation and say nothing about it.

    ``seal`` beside a bearing may say that it is sealed: such words are stray only beside a ``shaft_seal`` size.
    """
    wanted = {"any", applies_to} - ({"any"} if applies_to == "telling" else set())
    rows = read_rows(TABLE, ("word", "applies_to", "meaning", "source"))
    return frozenset(row.text("word") for row in rows if row.text("applies_to") in wanted)


def is_passing_word(word: str) -> bool:
    """Say whether an unknown word behind a designation is only a name or a place and tells nothing of the part."""
    return len(word) > _SHORTEST_NAME and word.isalpha() and word not in stray_words("telling")


def blank_stray(text: str, applies_to: str = "any") -> str:
    """Return a normalised text of the same length with quantities and stray words blanked.

    >>> blank_stray("6205 10 PCS").strip()
    '6205'
    """
    if _ONE_WORD.fullmatch(text):
        return text
    words = stray_words(applies_to)

    def blank(hit: re.Match[str]) -> str:
        return " " * len(hit[0]) if hit[0].strip(".") in words else hit[0]

    return _WORD.sub(blank, blank_counts(text))


_ONE_WORD = re.compile(r"[0-9]{3}[0-9A-Z]*(?:[-/][0-9A-Z]{1,4})*(?<!PCS)(?<!PC)(?<!STK)(?<!EA)")
"""A number with suffixes and nothing else: no need to look for words (most lines of a price list)."""
_LIST_NUMBER = re.compile(r"^\s*\d{1,2}[.)]\s+(?=\S)")
_COUNT_BEHIND = re.compile(r"(?<=[A-Z]) X ?\d{1,4}\s*$")


def blank_counts(text: str) -> str:
    """Return a normalised text of the same length with quantities, positions and a spreadsheet's ``.0`` blanked."""
    for pattern in (_QUANTITY, _TIMES, _TRAILING_ZERO, _LIST_NUMBER, _COUNT_BEHIND):
        text = pattern.sub(_blanks, text)
    return text


_WORD = re.compile(r"(?<![0-9A-Z])[A-Z/]{2,}\.?(?![0-9A-Z])")


def _blanks(hit: re.Match[str]) -> str:
    return " " * len(hit[0])
