"""``screener explain --file``: a supplier's price list with what each designation says, row by row.

Rows are read, explained and written one at a time, so a list of any length needs the same memory.
"""

from __future__ import annotations

import csv
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING

from screener.errors import InputUnreadable, WrongUsage
from screener.parts import explain
from screener.records.spreadsheet_cell import safe_cell

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from screener.parts.model import Explained

COLUMNS = (
    "understood",
    "kind",
    "family",
    "basic",
    "bore_mm",
    "od_mm",
    "width_mm",
    "closure",
    "closed_sides",
    "clearance",
    "accuracy",
    "cage",
    "material",
    "seal_type",
    "ambiguous",
    "not_understood",
    "suggestions",
)
"""Columns added behind those of the list."""
_LIKELY = ("designation", "part number", "part no", "part", "article", "item", "bezeichnung", "artikel", "type")
_SAMPLE = 65_536


@dataclass(frozen=True, slots=True)
class ListExplained:
    """How many rows were read, and of how many the designation was understood."""

    rows: int
    understood: int


def explain_list(source: Path, target: IO[str], *, column: str | None = None) -> ListExplained:
    """Copy a CSV list to ``target`` with the explanation of one column added.

    Parameters
    ----------
    source
        CSV with a header row; comma, semicolon, tab or bar between cells; UTF-8 or Windows-1252.
    target
        Open for writing text with ``newline=""``.
    column
        Header of the column of designations; by default the one whose header looks like it.

    Raises
    ------
    InputUnreadable
        The file cannot be read or has no header.
    WrongUsage
        There is no such column.
    """
    with _rows_of(source) as rows:
        header = next(rows, None)
        if not header:
            raise InputUnreadable("the file has no header row.", where=str(source), next_step="Give a CSV list.")
        place = _place_of(header, column, source)
        writer = csv.writer(target, lineterminator="\n")
        writer.writerow([*map(safe_cell, header), *COLUMNS])
        count = understood = 0
        for row in rows:
            told = explain(row[place] if place < len(row) else "")
            writer.writerow([*map(safe_cell, row), *_cells(told)])
            count += 1
            understood += told.understood
    return ListExplained(count, understood)


@contextmanager
def _rows_of(source: Path) -> Iterator[Iterator[list[str]]]:
    try:
        with source.open("rb") as raw:
            head = raw.read(_SAMPLE)
    except OSError as fault:
        raise InputUnreadable(f"it cannot be opened ({fault.strerror}).", where=str(source)) from fault
    if head.startswith((b"%PDF", b"PK", b"\xd0\xcf")) or (b"\0" in head and _encoding_of(head) != "utf-16"):
        raise InputUnreadable("this is not a CSV list.", where=str(source), next_step="Save the list as CSV first.")
    with source.open(encoding=_encoding_of(head), errors="replace", newline="") as file:
        yield csv.reader(file, delimiter=_delimiter_of(head))


def _encoding_of(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        # The sample may end within a character; that is no sign of another encoding.
        head[:-4].decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _delimiter_of(head: bytes) -> str:
    first = head.decode(_encoding_of(head), "replace").partition("\n")[0]
    return max(",;\t|", key=first.count)


def _place_of(header: list[str], column: str | None, source: Path) -> int:
    names = [name.strip().casefold() for name in header]
    wanted = [column.strip().casefold()] if column else list(_LIKELY)
    for word in wanted:
        if word in names:
            return names.index(word)
    if column is None and len(header) == 1:
        return 0
    raise WrongUsage(
        f"there is no column “{column}”." if column else "no column is plainly the one of designations.",
        where=str(source),
        next_step=f"Name it with --column; the file has: {', '.join(header)}.",
    )


def _cells(told: Explained) -> list[str | None]:
    closure = told.closure
    # Only the last three repeat what a stranger wrote; the others are our own words and numbers.
    return [
        "yes" if told.understood else "no",
        told.kind,
        told.family,
        told.basic,
        _number(told.bore_mm),
        _number(told.od_mm),
        _number(told.width_mm),
        closure.kind if closure else None,
        str(closure.sides) if closure else None,
        told.clearance,
        told.accuracy,
        told.cage,
        told.material,
        told.seal_type,
        safe_cell("; ".join(told.ambiguous)),
        safe_cell("; ".join(told.not_understood)),
        safe_cell("; ".join(told.suggestions)),
    ]


def _number(value: float | None) -> str | None:
    return None if value is None else f"{value:g}"
