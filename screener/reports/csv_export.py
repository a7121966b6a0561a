"""Results as CSV for a spreadsheet, safe to open whatever the labels say."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from typing import TextIO

from screener.records.spreadsheet_cell import safe_cell
from screener.reports.wording import verdict_of
from screener.screening.model import ScreenedItem

COLUMNS = (
    "item",
    "line",
    "ordered",
    "quantity",
    "supplier",
    "do",
    "disposition",
    "exit",
    "suspicion",
    "reason",
    "next_step",
    "findings",
    "agreed",
    "not_checked",
    "photos",
    "rule",
)


def write_items_csv(target: TextIO, items: Iterable[ScreenedItem]) -> None:
    """Write one row an item.

    Parameters
    ----------
    target
        A text file opened with ``newline=""``; ``encoding="utf-8-sig"`` lets every spreadsheet see the umlauts.
    items
        In the order wanted.
    """
    writer = csv.writer(target)
    writer.writerow(COLUMNS)
    for screened in items:
        writer.writerow([safe_cell(cell) for cell in _cells(screened)])


def _cells(screened: ScreenedItem) -> tuple[object, ...]:
    item, disposition = screened.item, screened.disposition
    requirement = item.requirement
    return (
        item.key,
        requirement.line,
        requirement.need,
        requirement.quantity,
        requirement.supplier,
        verdict_of(disposition).word,
        disposition.word,
        disposition.exit,
        screened.suspicion.level,
        disposition.reason,
        disposition.next_step,
        " ".join(each.says for each in screened.findings),
        " ".join(screened.agreed),
        " ".join(each.says for each in screened.not_checked),
        "; ".join(item.photos),
        disposition.rule,
    )
