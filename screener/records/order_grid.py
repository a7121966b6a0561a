"""The cells of an order file as texts, whatever wrote it: CSV of any kind, XLSX, XLS, ODS.

No row is left out, so that row numbers are those the user's spreadsheet shows.
"""

from __future__ import annotations

import codecs
import csv
import io
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from screener.errors import InputUnreadable

Rows = list[list[str]]

MAX_BYTES = 50_000_000
MAX_UNPACKED_BYTES = 500_000_000
MAX_ROWS = 100_000
DELIMITERS = ";,\t|"
DATE_SIGN = "\N{CALENDAR} "
"""Put before a cell that the spreadsheet holds as a date, so that a designation turned into one (62-05) is noticed."""

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_TEXT_SUFFIXES = frozenset({".csv", ".tsv", ".txt", ".tab"})


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table of an order file. ``name`` is empty for CSV."""

    name: str
    rows: Rows


def read_sheets(path: Path, content: bytes, rate: Callable[[Rows], int]) -> list[Sheet]:
    """Return the tables of an order file.

    Parameters
    ----------
    path
        For its name in messages.
    content
        The bytes of the file.
    rate
        Says how much like an order some rows look; picks the delimiter of a CSV.

    Raises
    ------
    InputUnreadable
        The file is too large, damaged, or no table.
    """
    if len(content) > MAX_BYTES:
        raise _unreadable(path, f"this order is larger than {MAX_BYTES // 1_000_000} MB.", "Is it the right file?")
    if content[:4] in {b"PK\x03\x04", b"\xd0\xcf\x11\xe0"}:
        return _read_workbook(path, content)
    return [Sheet("", _read_csv(path, content, rate))]


def _unreadable(path: Path, says: str, next_step: str) -> InputUnreadable:
    return InputUnreadable(says, where=str(path), next_step=next_step, code="order_unreadable")


def _read_csv(path: Path, content: bytes, rate: Callable[[Rows], int]) -> Rows:
    text = _decode(path, content)
    first, _, rest = text.partition("\n")
    if first.strip().lower().startswith("sep=") and len(first.strip()) == len("sep=") + 1:
        # A hint some spreadsheets write; the empty row keeps the count.
        return [[], *_split(rest, first.strip()[-1])]
    candidates = [_split(text, delimiter) for delimiter in DELIMITERS]
    return max(candidates, key=lambda rows: (rate(rows), _steadiness(rows)))


def _decode(path: Path, content: bytes) -> str:
    for bom, encoding in _BOMS:
        if content.startswith(bom):
            return content.decode(encoding, "replace")
    if content[1:200:2].count(0) > len(content[1:200:2]) * 0.7:
        return content.decode("utf-16-le", "replace")
    if b"\0" in content[:4096]:
        raise _unreadable(path, "this is not a table.", "Give the order as CSV, XLSX, XLS or ODS.")
    for encoding in ("utf-8", "cp1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    return content.decode("latin-1")


def _split(text: str, delimiter: str) -> Rows:
    rows: Rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return rows
        except csv.Error:
            # A field beyond the reader's limit: keep the place of the row.
            cells = []
        # A quoted cell can hold line breaks; the row numbers stay those of a spreadsheet all the same.
        rows.append([tidy(cell) for cell in cells])
        if len(rows) >= MAX_ROWS:
            return rows


def _steadiness(rows: Rows) -> float:
    """How many columns most rows agree on, times the share of those rows; one column counts nothing."""
    widths = [len(row) for row in rows if any(row)]
    if not widths:
        return 0.0
    usual = max(set(widths), key=widths.count)
    return (usual - 1) * widths.count(usual) / len(widths)


def _read_workbook(path: Path, content: bytes) -> list[Sheet]:
    from python_calamine import CalamineError, CalamineWorkbook

    _refuse_bomb(path, content)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        return [Sheet(name, list(_sheet_rows(book.get_sheet_by_name(name)))) for name in book.sheet_names]
    except (CalamineError, OSError, ValueError, zipfile.BadZipFile) as error:
        raise _unreadable(
            path,
            "this workbook is damaged or protected by a password.",
            "Open it in the spreadsheet and save it again, or save it as CSV.",
        ) from error


def _refuse_bomb(path: Path, content: bytes) -> None:
    if not content.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            unpacked = sum(member.file_size for member in packed.infolist())
    except zipfile.BadZipFile as error:
        raise _unreadable(path, "this workbook is damaged.", "Save it again, or save it as CSV.") from error
    if unpacked > MAX_UNPACKED_BYTES:
        raise _unreadable(path, "this workbook unpacks to far more than an order holds.", "Save it as CSV.")


def _sheet_rows(sheet: Any) -> Iterator[list[str]]:
    # Calamine leaves out empty rows above the first used one.
    start = sheet.start[0] if sheet.start else 0
    for _ in range(min(start, MAX_ROWS)):
        yield []
    for number, row in enumerate(sheet.to_python(skip_empty_area=True, nrows=MAX_ROWS)):
        if number >= MAX_ROWS:
            return
        yield [cell_text(cell) for cell in row]


def cell_text(cell: object) -> str:
    """Return a spreadsheet cell as a person typed it: the number 6202.0 is ``6202``, a date carries `DATE_SIGN`."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    if isinstance(cell, date | datetime | time):
        return f"{DATE_SIGN}{cell.isoformat()}"
    return tidy(str(cell))


def tidy(text: str) -> str:
    """Return ``text`` with every kind of blank as one space and none around it."""
    return " ".join(text.replace("\N{ZERO WIDTH SPACE}", "").replace("\N{ZERO WIDTH NO-BREAK SPACE}", "").split())
