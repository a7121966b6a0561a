"""An audit as tables: CSV with a row a unit, and a workbook with a sheet for each kind of answer.

Texts come from labels and codes: none of them ever becomes a formula (`safe_cell` in CSV, strings as strings in a
sheet).
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.unit import Unit, feature_says, unit_of_measure
from screener.records.export import csv_line
from screener.reports.audit_report import LOT_HEADS, AuditReport

if TYPE_CHECKING:
    import xlsxwriter

Cell = str | float | int | None

_FIRST = (
    "record",
    "run",
    "item",
    "kind",
    "ordered as",
    "supplier",
    "disposition",
    "do",
    "suspicion",
    "reason",
    "next step",
    "a person's word",
    "own answer beside it",
)
_WIDEST = 60
_MOST_ROWS = 1_048_575
"""A sheet holds so many rows below its head."""


def units_csv(batch: BatchComparison) -> Iterator[str]:
    """Yield a table of all units: how each was judged, then every number with its uncertainty, then every word."""
    yield "\ufeff"  # lets every spreadsheet see the umlauts
    for row in unit_rows(batch):
        yield csv_line(row)


def unit_rows(batch: BatchComparison) -> Iterator[list[Cell]]:
    """Yield the head and a row a unit."""
    units = batch.units
    numbers = list(dict.fromkeys(name for unit in units for name in unit.numbers))
    words = list(dict.fromkeys(name for unit in units for name in unit.words))
    heads = [head for name in numbers for head in (_head(name), f"u of {_head(name)}")]
    yield [*_FIRST, *heads, *words, "serials", "photos"]
    for unit in units:
        values = [value for name in numbers for value in _number(unit, name)]
        said = [unit.words.get(name, "") for name in words]
        serials = "; ".join(serial for serial, _ in unit.serials)
        yield [*_judged(unit), *values, *said, serials, "; ".join(photo.name for photo in unit.photos)]


def _head(feature: str) -> str:
    unit = unit_of_measure(feature)
    return f"{feature_says(feature)}, {unit}" if unit else feature_says(feature)


def _number(unit: Unit, feature: str) -> tuple[Cell, Cell]:
    number = unit.numbers.get(feature)
    return (None, None) if number is None else (number.value, number.u)


def _judged(unit: Unit) -> list[Cell]:
    return [
        unit.record,
        unit.run,
        unit.key,
        unit.group,
        unit.need,
        unit.supplier,
        unit.disposition,
        unit.exit,
        unit.suspicion,
        unit.reason,
        unit.next_step,
        unit.decided,
        unit.own_answer,
    ]


def audit_xlsx(batch: BatchComparison, report: AuditReport) -> bytes:
    """Return a workbook: summary, units, findings, numbers, groups found, not checked."""
    from xlsxwriter import Workbook

    out = io.BytesIO()
    options = {
        "constant_memory": False,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with Workbook(out, {"in_memory": True, **options}) as book:
        head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
        for name, rows in _sheets(batch, report):
            _fill(book.add_worksheet(name), head, rows)
    return out.getvalue()


def _sheets(batch: BatchComparison, report: AuditReport) -> Iterator[tuple[str, Iterable[Sequence[Cell]]]]:
    yield "Summary", _summary(report)
    if report.lots:
        yield "Lots", [LOT_HEADS, *report.lots]
    yield "Units", _short_rows(report)
    yield "Units in full", unit_rows(batch)
    yield "Stands apart", _apart_rows(batch)
    yield "Groups found", _cluster_rows(batch)
    yield "Numbers", _number_rows(batch)
    yield "Tolerances", _tolerance_rows(batch)
    yield "Differs within", _mixed_rows(batch)
    yield "Not checked", [("not checked", "units"), *report.not_checked]


def _short_rows(report: AuditReport) -> Iterator[Sequence[Cell]]:
    """Yield what a buyer looks for, a row a unit; everything else is on the sheet after it."""
    yield (
        "Record", "Item", "Ordered as", "Supplier", "Do", "Why", "Next step", "Answer of its lot",
        "Designation on the box", "Designation on the part", "Serials", "Photos",
    )  # fmt: skip
    for lot in report.delivery.lots:
        for unit in lot.units:
            read = [unit.words.get(f"designation on the {where}", "") for where in ("box", "part")]
            serials = ", ".join(serial for serial, _ in unit.serials)
            do = unit.way
            judged = (do, unit.reason, unit.next_step, lot.judged.word)
            yield unit.record, unit.key, unit.need, unit.supplier, *judged, *read, serials, len(unit.photos)


def _fill(sheet: xlsxwriter.worksheet.Worksheet, head: Any, rows: Iterable[Sequence[Cell]]) -> None:
    widths: list[int] = []
    at = 0
    for at, row in enumerate(rows):
        if at > _MOST_ROWS:
            break
        widths += [8] * (len(row) - len(widths))
        for column, cell in enumerate(row):
            if isinstance(cell, str):
                # A cell holds at most 32,767 characters.
                sheet.write_string(at, column, cell[:32_000], head if at == 0 else None)
                widths[column] = min(_WIDEST, max(widths[column], len(cell) + 1))
            elif cell is not None:
                # Nothing here is known to more than five figures.
                sheet.write_number(at, column, float(f"{cell:.5g}") if isinstance(cell, float) else cell)
    if at == 0:
        sheet.write_string(1, 0, "nothing found")
    sheet.freeze_panes(1, 0)
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)


def _summary(report: AuditReport) -> Iterator[Sequence[Cell]]:
    yield "Question", "Answer", "Next"
    yield "Lot", report.lot.says, ""
    for name, value in (*report.scope, ("made", report.created_at)):
        yield name, value, ""
    for name, count in report.counts:
        yield name, count, ""
    for answer in report.answers:
        for reason in answer.reasons:
            yield answer.question, reason.says, reason.next_step
        if not answer.reasons:
            yield answer.question, answer.none, ""


def _record(group: Group, place: int) -> int:
    return group.units[place].record


def _apart_rows(batch: BatchComparison) -> Iterator[Sequence[Cell]]:
    yield "kind", "record", "item", "number", "value", "median of the kind", "robust spreads", "adjusted p"
    for group in batch.groups:
        for each in group.outliers:
            unit = group.units[each.unit]
            said = _head(each.feature)
            yield group.name, unit.record, unit.key, said, each.value, each.middle, each.distance, each.p


def _cluster_rows(batch: BatchComparison) -> Iterator[Sequence[Cell]]:
    yield (
        "kind",
        "in",
        "units of the group",
        "largest group",
        "p by chance",
        "distance in spreads",
        "what differs",
        "records",
    )
    for group in batch.groups:
        for each in group.clusters:
            records = ", ".join(str(_record(group, place)) for place in each.units)
            yield group.name, each.block, len(each.units), each.others, each.p, each.apart, each.says, records


def _number_rows(batch: BatchComparison) -> Iterator[Sequence[Cell]]:
    yield "kind", "number", "units", "ordered", "median", "robust spread", "lowest", "highest", "u of one unit"
    for group in batch.groups:
        for each in group.numbers:
            values = (each.count, each.ordered, each.middle, each.spread, each.lowest, each.highest, each.u)
            yield group.name, _head(each.feature), *values


def _tolerance_rows(batch: BatchComparison) -> Iterator[Sequence[Cell]]:
    heads = ("proven within", "proven outside", "not decided", "Cp", "Cp low", "Cp high", "Cpk", "Cpk low", "Cpk high")
    yield "kind", "number", "lower", "upper", *heads, "why no capability", "rests on"
    for group in batch.groups:
        for each in group.tolerances:
            found = each.capability
            six: tuple[Cell, ...] = (None,) * 6
            if found is not None:
                six = (found.cp, found.cp_low, found.cp_high, found.cpk, found.cpk_low, found.cpk_high)
            counts = (len(each.conforms), len(each.differs), len(each.open))
            yield group.name, _head(each.feature), each.lower, each.upper, *counts, *six, each.why_none, each.rests_on


def _mixed_rows(batch: BatchComparison) -> Iterator[Sequence[Cell]]:
    yield "kind", "what", "value", "units", "records"
    for group in batch.groups:
        for each in group.mixed:
            for value in each.values:
                records = ", ".join(str(_record(group, place)) for place in value.units)
                yield group.name, each.name, value.value, len(value.units), records
