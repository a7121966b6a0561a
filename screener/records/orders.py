"""Read an order: CSV of any kind, XLSX, XLS or ODS, with forgiving headings. No line is ever dropped."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from screener.errors import InputUnreadable
from screener.records.order_grid import DATE_SIGN, Rows, Sheet, read_sheets
from screener.records.order_model import Order, OrderLine
from screener.records.order_numbers import read_price, read_quantity
from screener.records.order_words import NEED_COLUMNS, duty_words, header_meanings, means_yes, names_a_need

T = TypeVar("T")

__all__ = ["Order", "OrderLine", "read_order"]

_HEADER_WITHIN = 40
"""Rows searched for the headings; letterheads of delivery notes are shorter."""
_LOOKS_LIKE_A_PART = re.compile(
    r"(?<!\d)\d{3,5}(?!\d)"  # 608, 6205, 61805
    r"|(?<!\d)\d{2,3}/\d{1,3}(?!\d)"  # 62/22
    r"|\d+(?:[.,]\d+)?\s*[x×*/-]\s*\d+(?:[.,]\d+)?\s*[x×*/-]\s*\d+",  # 25x47x7
    re.IGNORECASE,
)
_TOLD_IF_MISSING = {"quantity": "how many", "duty": "the duty (dry, dirty, wet)", "supplier": "the supplier"}
_SINGLE_VALUES = ("maker", "supplier", "note")


def read_order(path: Path) -> Order:
    """Return the lines of an order file.

    Parameters
    ----------
    path
        CSV (any delimiter and common encoding), XLSX, XLS or ODS.

    Returns
    -------
    Order
        Every row below the headings that is not empty is a line; what was doubtful stands in ``problems``.

    Raises
    ------
    InputUnreadable
        The file cannot be read, is no table, or no column says what is needed.
    """
    content = _content(path)
    sheets = read_sheets(path, content, _best_header_score)
    sheet = max(sheets, key=lambda each: _best_header_score(each.rows), default=Sheet("", []))
    header_row, meanings, problems = _find_header(path, sheet.rows)
    problems += _missing_columns(meanings) + _other_sheets(sheets, sheet)
    lines = _lines(sheet.rows, header_row, meanings, problems)
    if not lines:
        raise InputUnreadable("this order has no lines.", where=str(path), code="order_empty")
    return Order(tuple(lines), tuple(problems), hashlib.sha256(content).hexdigest())


def _content(path: Path) -> bytes:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputUnreadable(
            f"this order cannot be opened ({error.strerror}).",
            where=str(path),
            next_step="Check the path.",
            code="order_unreadable",
        ) from error
    if not content.strip():
        raise InputUnreadable("this order is empty.", where=str(path), code="order_empty")
    return content


def _score(row: Sequence[str]) -> int:
    meanings = header_meanings(row)
    return len(meanings) + (3 if names_a_need(meanings) else 0)


def _best_header_score(rows: Rows) -> int:
    return max((_score(row) for row in rows[:_HEADER_WITHIN]), default=0)


def _find_header(path: Path, rows: Rows) -> tuple[int, dict[int, str], list[str]]:
    """Return the index of the row of headings (-1: none), what its columns mean, and what to tell the user."""
    scores = [_score(row) for row in rows[:_HEADER_WITHIN]]
    best = scores.index(max(scores)) if scores else -1
    if best >= 0 and names_a_need(header_meanings(rows[best])):
        return best, header_meanings(rows[best]), []
    column = _column_of_parts(rows)
    headings = ", ".join(cell for cell in rows[best] if cell) if best >= 0 and scores[best] else ""
    if column is None or headings:
        raise InputUnreadable(
            "no column says what is needed" + (f"; the headings are: {headings}." if headings else "."),
            where=str(path),
            next_step="Name a column designation, size, part or description (other languages work too).",
            code="order_without_need",
        )
    return -1, {column: "designation"}, [f"There are no headings; column {column + 1} is read as what is needed."]


def _column_of_parts(rows: Rows) -> int | None:
    """Return the column with the most cells that look like a part, if half of the rows have one."""
    used = [row for row in rows if any(row)]
    counts = Counter(number for row in used for number, cell in enumerate(row) if _LOOKS_LIKE_A_PART.search(cell))
    best = counts.most_common(1)
    return best[0][0] if best and best[0][1] * 2 >= len(used) else None


def _missing_columns(meanings: Mapping[int, str]) -> list[str]:
    return [
        f"No column says {words}; it is taken as not known."
        for meaning, words in _TOLD_IF_MISSING.items()
        if meaning not in meanings.values()
    ]


def _other_sheets(sheets: Iterable[Sheet], chosen: Sheet) -> list[str]:
    others = [each.name for each in sheets if each is not chosen and any(any(row) for row in each.rows)]
    return [f'Only sheet "{chosen.name}" was read, not: {", ".join(others)}.'] if others else []


def _lines(rows: Rows, header_row: int, meanings: Mapping[int, str], problems: list[str]) -> list[OrderLine]:
    headings = rows[header_row] if header_row >= 0 else None
    lines: list[OrderLine] = []
    names: set[str] = set()
    for index in range(header_row + 1, len(rows)):
        row = rows[index]
        # A printed list repeats its headings on each page.
        if any(row) and row != headings:
            line = _line(row, index + 1, meanings, problems)
            lines.append(_named_apart(line, len(lines) + 1, names, problems))
    return lines


def _line(row: Sequence[str], number: int, meanings: Mapping[int, str], problems: list[str]) -> OrderLine:
    named = [(meaning, row[column]) for column, meaning in meanings.items() if column < len(row) and row[column]]
    cells = dict(named)
    singles = {name: cells.get(name) for name in _SINGLE_VALUES}
    duty = cells.get("duty", "")
    found = duty_words(duty)
    if duty and not found:
        problems.append(f'Row {number}: the duty "{duty}" is not known; say dry, dirty, wet, hot or fast.')
    return OrderLine(
        line=cells.get("line", ""),
        need_text=_need_text(row, number, named, problems),
        quantity=_number_or_problem(cells.get("quantity"), read_quantity, "quantity", number, problems),
        unit_price=_number_or_problem(cells.get("unit_price"), read_price, "price", number, problems),
        duty=found,
        row_number=number,
        both_faces=means_yes(cells.get("both_faces", "")),
        **singles,
    )


def _need_text(row: Sequence[str], number: int, named: Sequence[tuple[str, str]], problems: list[str]) -> str:
    """Return what the line needs: designation and size together, else the best other column, else all of the row."""
    needs = sorted((pair for pair in named if pair[0] in NEED_COLUMNS), key=lambda pair: NEED_COLUMNS.index(pair[0]))
    parts = [pair for pair in needs if _LOOKS_LIKE_A_PART.search(pair[1]) and not pair[1].startswith(DATE_SIGN)]
    if parts:
        return _with_its_size(parts[0], needs)
    whole = " | ".join(cell.removeprefix(DATE_SIGN) for cell in row if cell)
    if any(cell.startswith(DATE_SIGN) for _, cell in needs):
        problems.append(
            f"Row {number}: the spreadsheet has turned what is needed into a date ({whole}). Format the column as text."
        )
        return whole
    problems.append(f'Row {number}: no bearing or seal could be recognised in "{whole}"; the line is kept as written.')
    return needs[0][1] if needs else whole


def _with_its_size(best: tuple[str, str], needs: Sequence[tuple[str, str]]) -> str:
    """Join the halves of a seal that a list splits in two columns (``TC NBR`` and ``25x47x7``)."""
    halves = [text for meaning, text in needs if meaning in {"designation", "size"}]
    if best[0] not in {"designation", "size"} or len(halves) < 2:
        return best[1]
    return " ".join(text for text in dict.fromkeys(halves) if text == best[1] or text not in best[1])


def _number_or_problem(
    cell: str | None, read: Callable[[str], T | None], name: str, number: int, problems: list[str]
) -> T | None:
    if cell is None:
        return None
    value = read(cell)
    if value is None:
        problems.append(f'Row {number}: the {name} "{cell}" cannot be read for certain; it is taken as not known.')
    return value


def _named_apart(line: OrderLine, position: int, names: set[str], problems: list[str]) -> OrderLine:
    """Give the line a name that no earlier line has; its position where the order gives none."""
    name = line.line or str(position)
    if name in names:
        apart = f"{name} (row {line.row_number})"
        if line.line:
            problems.append(f'Row {line.row_number}: line "{name}" occurs twice; this one is called "{apart}".')
        name = apart
    names.add(name)
    return replace(line, line=name)
