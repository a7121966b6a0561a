"""Recorded items as JSON or CSV, written while they are read: a long record needs no long memory."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any, Literal

from screener.errors import WrongUsage
from screener.records.model import StoredItem
from screener.records.spreadsheet_cell import safe_cell
from screener.records.standing import Standing, Standings, what_to_do

CSV_COLUMNS = (
    "record",
    "run",
    "item",
    "recorded_at_utc",
    "line",
    "requirement",
    "supplier",
    "disposition",
    "suspicion",
    "reason",
    "next_step",
    "findings",
    "not_checked",
    "photos",
    "quantity",
    "exit",
    "agreed",
    "rule",
    "what_to_do",
    "decided",
    "decided_by",
    "decided_why",
    "decided_at_utc",
)


def export_items(stored: Iterable[StoredItem], form: Literal["json", "csv"], decided: Standings) -> Iterator[str]:
    """Yield the pieces of an export; see `Record.export`.

    Raises
    ------
    WrongUsage
        ``form`` is neither ``json`` nor ``csv``.
    """
    if form == "json":
        return _as_json(stored, decided)
    if form == "csv":
        return _as_csv(stored, decided)
    raise WrongUsage(f"expected json or csv, got {form!r}.", code="export_form")


def item_as_json(stored: StoredItem, standing: Standing | None) -> dict[str, Any]:
    """Return everything the record holds of an item as one JSON object; ``decided`` is a person's word or null."""
    return {
        "record": stored.id,
        "run": stored.run_id,
        "item": stored.item_key,
        "recorded_at": stored.recorded_at,
        "fingerprint": stored.fingerprint,
        "line": stored.line,
        "requirement": stored.requirement,
        "supplier": stored.supplier,
        "disposition": stored.disposition,
        "what_to_do": what_to_do(stored, standing),
        "decided": asdict(standing) if standing else None,
        "suspicion": stored.suspicion,
        "photos": [{"sha256": photo.sha256, "name": photo.name} for photo in stored.photos],
        "result": stored.result,
    }


def _as_json(stored: Iterable[StoredItem], decided: Standings) -> Iterator[str]:
    yield "["
    for position, item in enumerate(stored):
        yield ("\n" if position == 0 else ",\n") + json.dumps(item_as_json(item, decided(item)), ensure_ascii=False)
    yield "\n]\n"


def _as_csv(stored: Iterable[StoredItem], decided: Standings) -> Iterator[str]:
    yield csv_line(CSV_COLUMNS)
    for item in stored:
        yield csv_line(_csv_cells(item, decided(item)))


def _csv_cells(item: StoredItem, standing: Standing | None) -> tuple[object, ...]:
    result = item.result
    return (
        item.id,
        item.run_id,
        item.item_key,
        item.recorded_at,
        item.line,
        item.requirement,
        item.supplier,
        item.disposition,
        item.suspicion,
        result.get("reason", ""),
        result.get("next_step", ""),
        _codes(result),
        "; ".join(str(says) for says in result.get("not_checked", ())),
        "; ".join(photo.name for photo in item.photos),
        (result.get("order_line") or {}).get("quantity"),
        result.get("exit", ""),
        " ".join(str(says) for says in result.get("agreed", ())),
        result.get("rule", ""),
        what_to_do(item, standing),
        *((standing.kind, standing.who, standing.why, standing.at) if standing else ("", "", "", "")),
    )


def _codes(result: Mapping[str, Any]) -> str:
    """Each code once, in the order met; one met more often with its count: ``size_not_as_ordered ×3``."""
    counts = Counter(str(finding.get("code", "")) for finding in result.get("findings", ()))
    return "; ".join(code if count == 1 else f"{code} ×{count}" for code, count in counts.items())


def csv_line(cells: Iterable[object]) -> str:
    """Return one line of CSV in which no cell is a formula."""
    line = io.StringIO()
    csv.writer(line).writerow([safe_cell(cell) for cell in cells])
    return line.getvalue()
