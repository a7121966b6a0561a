"""Reading one CSV table. A broken row is reported by file, line and column, in words for the person who edited it."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table; cells are read by column name."""

    table: str
    line: int
    cells: Mapping[str, str]

    @property
    def where(self) -> str:
        """File and line, as an editor shows them."""
        return f"{FOLDER}/{self.table}, line {self.line}"

    def broken(self, column: str, says: str) -> InputUnreadable:
        """Return (not raise) the error for one bad cell."""
        return InputUnreadable(
            says,
            where=f"{self.where}, column {column}",
            next_step="Correct the cell; README.md in that folder says what belongs there.",
            code="broken_row",
        )

    def maybe_text(self, column: str) -> str | None:
        """Return the cell without outer blanks, or None if it is empty or the column is absent."""
        return (self.cells.get(column) or "").strip() or None

    def text(self, column: str) -> str:
        """Return the cell; InputUnreadable if it is empty."""
        found = self.maybe_text(column)
        if found is None:
            raise self.broken(column, "The cell is empty.")
        return found

    def maybe_number(self, column: str) -> float | None:
        """Return the cell as a number, or None if it is empty; InputUnreadable if it is no number."""
        found = self.maybe_text(column)
        if found is None:
            return None
        try:
            value = float(found)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise self.broken(column, f"“{found}” is no number (write 12.5, with a point).")
        return value

    def number(self, column: str) -> float:
        """Return the cell as a number; InputUnreadable if it is empty or no number."""
        value = self.maybe_number(column)
        if value is None:
            raise self.broken(column, "The cell is empty; a number belongs here.")
        return value

    def positive(self, column: str) -> float:
        """Return the cell as a number above zero; InputUnreadable otherwise."""
        value = self.number(column)
        if value <= 0:
            raise self.broken(column, f"{value:g} is not above zero.")
        return value


def read_rows(table: str, columns: Sequence[str]) -> Iterator[Row]:
    """Yield the rows of a table in file order.

    Parameters
    ----------
    table
        File name inside the tables' folder.
    columns
        Columns the caller needs; a missing one is an error, further columns are allowed.

    Raises
    ------
    InputUnreadable
        If the file cannot be read, a column is missing, or a row has more cells than the header.
    """
    path = specs_folder() / table
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InputUnreadable(
            f"The table cannot be read ({error.__class__.__name__}).",
            where=f"{FOLDER}/{table}",
            next_step="Restore the file from the repository.",
            code="tables_missing",
        ) from error
    yield from parse_rows(table, text, columns)


def parse_rows(table: str, text: str, columns: Sequence[str]) -> Iterator[Row]:
    """Yield the rows of a table given as text; see `read_rows`."""
    reader = csv.DictReader(text.splitlines())
    missing = [name for name in columns if name not in (reader.fieldnames or [])]
    if missing:
        raise InputUnreadable(
            f"The column {', '.join(missing)} is missing.",
            where=f"{FOLDER}/{table}, line 1",
            next_step="Put the header line back as it was.",
            code="broken_row",
        )
    for cells in reader:
        row = Row(table, reader.line_num, cells)
        if None in cells:
            raise row.broken("after the last", "The row has more cells than the header (a stray comma?).")
        yield row
