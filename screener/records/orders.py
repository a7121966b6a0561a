"""Read an order: CSV of any kind, XLSX, XLS or ODS, with forgiving headings. No line is ever dropped."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from screener.errors import InputUnreadable
from screener.records.order_columns import Columns, best_header_score, find_columns, looks_like_a_part
from screener.records.order_grid import DATE_SIGN, Rows, Sheet, read_sheets
from screener.records.order_model import Order, OrderLine
from screener.records.order_numbers import read_price, read_quantity
from screener.records.order_totals import is_totals_row
from screener.records.order_words import NEED_COLUMNS, duty_words, means_yes, unknown_duties
from screener.specs.screening_rules import indicators

T = TypeVar("T")

__all__ = ["Order", "OrderLine", "read_order"]

_TOLD_IF_MISSING = {"quantity": "how many", "duty": "the duty (dry, dirty, wet)", "supplier": "the supplier"}
_SINGLE_VALUES = ("maker", "supplier", "note", "order_number", "supplier_address", "supplier_contact", "delivery_note")


def read_order(path: Path) -> Order:
    """Return the lines of an order file.

    Parameters
    ----------
    path
        CSV (any delimiter and common encoding), XLSX, XLS or ODS.

    Returns
    -------
    Order
        Every row below the headings that is not empty is a line, but for totals; what was doubtful, and each row
        left out, stands in ``problems``.

    Raises
    ------
    InputUnreadable
        The file cannot be read, is no table, or no column says what is needed.
    """
    content = _content(path)
    sheets = read_sheets(path, content, best_header_score)
    sheet = max(sheets, key=lambda each: best_header_score(each.rows), default=Sheet("", []))
    columns = find_columns(path, sheet.rows)
    problems = [*columns.problems, *_missing_columns(columns.meanings), *_other_sheets(sheets, sheet)]
    lines = _lines(sheet.rows, columns, problems)
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


def _missing_columns(meanings: Mapping[int, str]) -> list[str]:
    return [
        f"No column says {words}; it is taken as not known."
        for meaning, words in _TOLD_IF_MISSING.items()
        if meaning not in meanings.values()
    ]


def _other_sheets(sheets: Iterable[Sheet], chosen: Sheet) -> list[str]:
    others = [each.name for each in sheets if each is not chosen and any(any(row) for row in each.rows)]
    return [f'Only sheet "{chosen.name}" was read, not: {", ".join(others)}.'] if others else []


def _lines(rows: Rows, columns: Columns, problems: list[str]) -> list[OrderLine]:
    headings = rows[columns.header_row] if columns.header_row >= 0 else None
    lines: list[OrderLine] = []
    for index in range(columns.header_row + 1, len(rows)):
        row = rows[index]
        # A printed list repeats its headings on each page.
        if not any(row) or row == headings:
            continue
        if is_totals_row(row, columns.meanings):
            problems.append(f'Row {index + 1}: "{_whole(row)}" is a total, no line; it was left out.')
            continue
        lines.append(_line(row, index + 1, columns.meanings, problems))
    return _named(lines, problems)


def _whole(row: Sequence[str]) -> str:
    return " | ".join(cell.removeprefix(DATE_SIGN) for cell in row if cell)


def _line(row: Sequence[str], number: int, meanings: Mapping[int, str], problems: list[str]) -> OrderLine:
    named = [(meaning, row[column]) for column, meaning in meanings.items() if column < len(row) and row[column]]
    cells = dict(named)
    singles: dict[str, Any] = {name: cells.get(name) for name in _SINGLE_VALUES}
    duty = cells.get("duty", "")
    problems += [
        f'Row {number}: the duty "{piece}" is not known; say dry, dirty, wet, hot or fast.'
        for piece in unknown_duties(duty)
    ]
    return OrderLine(
        line=cells.get("line", ""),
        need_text=_need_text(row, number, named, problems),
        quantity=_number_or_problem(cells.get("quantity"), read_quantity, "quantity", number, problems),
        received=_number_or_problem(cells.get("received"), read_quantity, "number received", number, problems),
        unit_price=_number_or_problem(cells.get("unit_price"), read_price, "price", number, problems),
        duty=duty_words(duty),
        row_number=number,
        both_faces=means_yes(cells.get("both_faces", "")),
        **_about_the_seller(cells, number, problems),
        **singles,
    )


def _about_the_seller(cells: Mapping[str, str], number: int, problems: list[str]) -> dict[str, Any]:
    """What the list says about seller, papers and time, and which signs somebody saw."""
    answers = {
        name: means_yes(cells[name]) for name in ("seller_authorised", "chain_of_sale", "papers") if name in cells
    }
    counts = {
        name: _number_or_problem(cells.get(name), read_quantity, name.replace("_", " "), number, problems)
        for name in ("seller_known_since", "lead_days", "usual_days")
    }
    words = re.split(r"[\s,;/+]+", cells.get("signs", "").upper())
    known = tuple(dict.fromkeys(word for word in words if word in indicators()))
    problems += [
        f'Row {number}: the sign "{word}" is not in the catalogue (`screener indicators`).'
        for word in words
        if word and word not in indicators()
    ]
    return {**answers, **counts, "currency": cells.get("currency"), "signs": known}


def _need_text(row: Sequence[str], number: int, named: Sequence[tuple[str, str]], problems: list[str]) -> str:
    """Return what the line needs: designation and size together, else the best other column, else all of the row."""
    needs = sorted((pair for pair in named if pair[0] in NEED_COLUMNS), key=lambda pair: NEED_COLUMNS.index(pair[0]))
    parts = [pair for pair in needs if looks_like_a_part(pair[1]) and not pair[1].startswith(DATE_SIGN)]
    if parts:
        return _with_its_size(parts[0], needs)
    whole = _whole(row)
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


def _named(lines: Sequence[OrderLine], problems: list[str]) -> list[OrderLine]:
    """Give every line a name of its own; its position where the order gives none, which is told.

    The order's own names come first, so that the photos of folder 3 never meet a line that only stands third.
    """
    names = {line.line for line in lines if line.line}
    if not names and lines:
        span = "1" if len(lines) == 1 else f"1 to {len(lines)}"
        problems.append(f"The list numbers no lines; they were numbered {span} by row.")
    used: set[str] = set()
    named = []
    for position, line in enumerate(lines, start=1):
        name = _free_name(line, position, names, used, problems)
        used.add(name)
        named.append(replace(line, line=name))
    return named


def _free_name(line: OrderLine, position: int, names: set[str], used: set[str], problems: list[str]) -> str:
    if line.line and line.line not in used:
        return line.line
    name = line.line or str(position)
    if name in names or name in used:
        name = f"{name} (row {line.row_number})"
    if line.line:
        problems.append(f'Row {line.row_number}: line "{line.line}" occurs twice; this one is called "{name}".')
    elif names:
        problems.append(f'Row {line.row_number}: this line has no number; it is called "{name}".')
    return name
