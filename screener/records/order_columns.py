"""Which row of an order holds the headings, and which column says what, also where the headings are unknown words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from screener.errors import InputUnreadable
from screener.parts.explaining import explain
from screener.parts.finding import find_in_text
from screener.records.order_grid import Rows
from screener.records.order_words import NEED_COLUMNS, header_meanings, names_a_need

HEADER_WITHIN = 40
"""Rows searched for the headings; letterheads of delivery notes are shorter."""
_SAMPLE = 200
"""Rows looked at to tell what a column holds; an order of 100 000 rows shows it as early as one of 20."""
_LOOKS_LIKE_A_PART = re.compile(
    r"(?<!\d)\d{3,5}(?!\d)"  # 608, 6205, 61805
    r"|(?<!\d)\d{2,3}/\d{1,3}(?!\d)"  # 62/22
    r"|\d+(?:[.,]\d+)?\s*[x×*/-]\s*\d+(?:[.,]\d+)?\s*[x×*/-]\s*\d+",  # 25x47x7
    re.IGNORECASE,
)
_LINE_NUMBER = re.compile(r"0*([1-9]\d{0,3})(?:\.0*)?")
_AMOUNT = re.compile(r"\D{0,5}\d[\d.,'’ ]*\D{0,5}")


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the lines begin and what their columns say."""

    header_row: int
    """Index of the row of headings; -1 where the lines begin with the first row."""
    meanings: Mapping[int, str]
    """Column number, from 0, to a key of ``[columns]`` in the table of words."""
    problems: tuple[str, ...] = ()


def looks_like_a_part(text: str) -> bool:
    """Whether figures stand in ``text`` as they do in designations and sizes; quick, and true of prices too."""
    return _LOOKS_LIKE_A_PART.search(text) is not None


@lru_cache(maxsize=4096)
def reads_as_a_part(text: str) -> bool:
    """Whether a bearing, a seal size or a ring can be read in ``text``."""
    if sum(sign.isdigit() for sign in text) < 2:
        return False
    return bool(find_in_text(text)) or (looks_like_a_part(text) and explain(text).understood)


def header_score(row: Sequence[str]) -> int:
    """Say how much a row looks like headings; a row in which a part can be read is none."""
    meanings = header_meanings(row)
    if not meanings or any(reads_as_a_part(cell) for cell in row):
        return 0
    return len(meanings) + (3 if names_a_need(meanings) else 0)


def best_header_score(rows: Rows) -> int:
    """Return the score of the row that looks most like headings."""
    return max((header_score(row) for row in rows[:HEADER_WITHIN]), default=0)


def find_columns(path: Path, rows: Rows) -> Columns:
    """Return where the lines of an order begin and what its columns say.

    Raises
    ------
    InputUnreadable
        No heading names what is needed, and no column reads as bearings or seals.
    """
    scores = [header_score(row) for row in rows[:HEADER_WITHIN]]
    best = scores.index(max(scores)) if any(scores) else -1
    if best < 0:
        return _without_known_headings(path, rows)
    meanings = header_meanings(rows[best])
    below = rows[best + 1 :]
    told: list[str] = []
    if not _says_parts(below, meanings):
        column = _part_column(below, taken=meanings)
        if column is None and not names_a_need(meanings):
            raise _no_need(path, rows[best])
        if column is not None:
            meanings[column] = "designation"
            told.append(_taken(rows[best], column, "what is needed"))
    told += _add_line_column(below, meanings, rows[best])
    return Columns(best, meanings, tuple(told))


def _says_parts(rows: Rows, meanings: Mapping[int, str]) -> bool:
    """Whether a column named as what is needed reads as parts anywhere."""
    needs = [column for column, meaning in meanings.items() if meaning in NEED_COLUMNS]
    sample = _used(rows)[:_SAMPLE]
    return any(reads_as_a_part(_cell(row, column)) for row in sample for column in needs)


def _without_known_headings(path: Path, rows: Rows) -> Columns:
    column = _part_column(rows, taken={})
    if column is None:
        raise _no_need(path, ())
    meanings = {column: "designation"}
    heading = _unknown_heading_row(rows, column)
    if heading < 0:
        said = [f"There are no headings; column {column + 1} is read as what is needed."]
        return Columns(-1, meanings, (*said, *_add_line_column(rows, meanings, ())))
    headings = rows[heading]
    named = ", ".join(cell for cell in headings if cell)
    told = [f'Row {heading + 1}: "{named}" is taken as the headings; none of these words is known.']
    told += _passed_over(rows[:heading])
    told.append(_taken(headings, column, "what is needed"))
    told += _add_line_column(rows[heading + 1 :], meanings, headings)
    others = [
        f'"{cell}"' for number, cell in enumerate(headings) if cell and number not in meanings and len(headings) > 1
    ]
    if others:
        told.append(f"Not used, for the headings are not known: {', '.join(others)}.")
    return Columns(heading, meanings, tuple(told))


def _passed_over(rows: Rows) -> list[str]:
    return [
        f'Row {number}: "{" | ".join(cell for cell in row if cell)}" stands above the headings and is no line.'
        for number, row in enumerate(rows, start=1)
        if any(row)
    ]


def _no_need(path: Path, headings: Sequence[str]) -> InputUnreadable:
    named = ", ".join(cell for cell in headings if cell)
    return InputUnreadable(
        "no column says what is needed" + (f"; the headings are: {named}." if named else "."),
        where=str(path),
        next_step="Name a column designation, size, part or description (other languages work too).",
        code="order_without_need",
    )


def _taken(headings: Sequence[str], column: int, what: str) -> str:
    name = _cell(headings, column)
    heading = f" (“{name}”)" if name else ""
    return f"Column {column + 1}{heading} is taken for {what}."


def _cell(row: Sequence[str], column: int) -> str:
    return row[column] if column < len(row) else ""


def _used(rows: Rows) -> Rows:
    return [row for row in rows if any(row)]


def _part_column(rows: Rows, *, taken: Mapping[int, str]) -> int | None:
    """Return the column with the most cells that read as a part, if half of the rows have one."""
    used = _used(rows)[:_SAMPLE]
    return _fullest(used, reads_as_a_part, taken) if taken else _best_of_both(used)


def _best_of_both(used: Rows) -> int | None:
    # Designations that no table knows still look like some; known ones come first, for prices look like parts too.
    exact = _fullest(used, reads_as_a_part, {})
    return _fullest(used, looks_like_a_part, {}) if exact is None else exact


def _fullest(used: Rows, holds: Callable[[str], bool], taken: Mapping[int, str]) -> int | None:
    counts = Counter(
        number for row in used for number, cell in enumerate(row) if number not in taken and cell and holds(cell)
    )
    best = counts.most_common(1)
    return best[0][0] if best and best[0][1] * 2 >= len(used) else None


def _unknown_heading_row(rows: Rows, column: int) -> int:
    """Return the index of a row of headings in unknown words, or -1.

    It stands above the first row that has a part or, as lines do, a number; so nothing that could be a line is taken.
    """
    above: list[int] = []
    for number, row in enumerate(rows):
        if not any(row):
            continue
        if looks_like_a_part(_cell(row, column)) or any(_is_a_value(cell) for cell in row):
            break
        above.append(number)
    else:
        return -1
    wide = [number for number in above if sum(map(bool, rows[number])) > 1]
    if wide and wide[0] < HEADER_WITHIN:
        return wide[0]
    return above[0] if above and above[0] < HEADER_WITHIN else -1


def _is_a_value(cell: str) -> bool:
    return reads_as_a_part(cell) or _AMOUNT.fullmatch(cell) is not None


def _add_line_column(rows: Rows, meanings: dict[int, str], headings: Sequence[str]) -> list[str]:
    """Find the column of line numbers where no heading names it, and say so."""
    if "line" in meanings.values():
        return []
    column = _line_column(rows, meanings)
    if column is None:
        return []
    meanings[column] = "line"
    return [_taken(headings, column, "the line numbers")]


def _line_column(rows: Rows, meanings: Mapping[int, str]) -> int | None:
    """Return the first column of distinct small integers left of what is needed; one right of it may be quantities."""
    used = _used(rows)
    ends = min(column for column, meaning in meanings.items() if meaning in NEED_COLUMNS)
    for column in range(ends):
        cells = [_cell(row, column) for row in used]
        numbers = [int(hit[1]) for hit in map(_LINE_NUMBER.fullmatch, cells) if hit]
        # A row of totals or a remark at the end has no number.
        enough = len(numbers) >= 2 and len(numbers) >= len(used) - max(1, len(used) // 10)
        if column not in meanings and (enough or numbers == [1]) and len(set(numbers)) == len(numbers):
            return column
    return None
