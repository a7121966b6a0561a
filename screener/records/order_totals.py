"""Rows below the lines that only sum up: totals, subtotals, taxes, carry-overs."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from screener.records.order_columns import reads_as_a_part
from screener.records.order_words import NEED_COLUMNS, order_words, plain

_AMOUNT = re.compile(r"\W{0,3}\d[\d.,'’ ]*\W{0,3}(?:[^\W\d_]{1,6}\.?)?")
_MAY_HOLD_THE_WORD = {*NEED_COLUMNS, "line", "quantity", "note", None}
"""Meanings of columns where a total stands; a maker or a seller may be called so."""


def is_totals_row(row: Sequence[str], meanings: Mapping[int, str]) -> bool:
    """Whether a row holds nothing but words like total and amounts; in doubt it does not, and stays a line.

    Parameters
    ----------
    row
        Its cells.
    meanings
        What the columns say.
    """
    filled = [(meanings.get(column), cell) for column, cell in enumerate(row) if cell]
    if not any(meaning in _MAY_HOLD_THE_WORD and is_totals_word(cell) for meaning, cell in filled):
        return False
    return all(is_totals_word(cell) or _is_amount(meaning, cell) for meaning, cell in filled)


def is_totals_word(text: str) -> bool:
    """Whether a text says a total and nothing else: ``Total``, ``Summe netto:``, ``Gesamt 14 Stk``, ``MwSt 19 %``."""
    words = [word for word in plain(text).split() if not word.isdigit()]
    known = order_words()
    if not any(word in known.totals for word in (*words, " ".join(words))):
        return False
    joined = " ".join(words) in known.totals or all(word in known.totals | known.beside_totals for word in words)
    return joined and not reads_as_a_part(text)


def _is_amount(meaning: str | None, cell: str) -> bool:
    # A line that names itself by a number is a line, whatever else it says; so is one that names a part.
    if meaning == "line" or _AMOUNT.fullmatch(cell) is None:
        return False
    return meaning not in NEED_COLUMNS or not reads_as_a_part(cell)
