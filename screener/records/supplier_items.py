"""Recorded items as the items of a supplier's history: what was received, what people decided, how it turned out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from screener.audit.suppliers import SupplierItem
from screener.parts.explaining import explain
from screener.records.begun import is_begun
from screener.records.every_event import every_event
from screener.records.model import StoredItem
from screener.records.outcomes import Confirmed, outcomes
from screener.records.record import Record
from screener.specs.makers import match_maker


def supplier_items(record: Record, *, since: str | None = None) -> Iterator[SupplierItem]:
    """Yield what was received, newest answers only; parts verified before use are not received a second time.

    What was only begun (`screener.records.begun`) was not looked at yet and is left out.

    Parameters
    ----------
    since
        ISO date or moment in UTC.
    """
    decisions = _decisions(record)
    told = outcomes(record)
    received = {run.id for run in record.runs() if run.kind == "receive"}
    for stored in record.items(since=since):
        outcome, said = told.get(stored.id), _said_of(stored, decisions)
        begun = not said and outcome is None and is_begun(stored)
        if stored.run_id in received and not begun:
            yield _as_said(_item(stored), said, outcome.confirmed if outcome else None)


def _decisions(record: Record) -> dict[tuple[int, str], tuple[str, int]]:
    """What a person said last of each line of a run, hold or release, and of which of its answers."""
    last: dict[tuple[int, str], tuple[str, int]] = {}
    for event in every_event(record, {"hold", "release"}):
        if event.item_id is None:
            continue
        if event.run_id is not None and "line" in event.data:
            key = (event.run_id, str(event.data["line"]))
        else:
            decided = record.item(event.item_id)
            key = (decided.run_id, _line(decided))
        last[key] = (event.kind, event.item_id)
    return last


def _said_of(stored: StoredItem, decisions: Mapping[tuple[int, str], tuple[str, int]]) -> str:
    """A hold stays on the line whatever is answered later; a release counts for the answer it was given on."""
    kind, item_id = decisions.get((stored.run_id, _line(stored)), ("", 0))
    return kind if kind == "hold" or item_id == stored.id else ""


def _line(stored: StoredItem) -> str:
    return str(stored.result.get("item", stored.item_key))


def _item(stored: StoredItem) -> SupplierItem:
    return SupplierItem(
        supplier=stored.supplier,
        delivery=stored.run_id,
        received_on=stored.recorded_at[:10],
        disposition=stored.disposition,
        suspicion=stored.suspicion,
        family=_family(stored.requirement),
        maker=_maker(stored.result),
    )


def _as_said(item: SupplierItem, decided: str, outcome: Confirmed | None) -> SupplierItem:
    item = replace(item, outcome=outcome, released=decided == "release")
    if outcome != "nonconforming" and (item.released or outcome == "conforming"):
        return replace(item, disposition="accept", suspicion="none")
    return replace(item, disposition="hold") if decided == "hold" and item.disposition == "accept" else item


@cache
def _family(requirement: str) -> str:
    explained = explain(requirement)
    return explained.family or (explained.kind or "").replace("_", " ")


def _maker(result: Mapping[str, Any]) -> str:
    ordered = (result.get("order_line") or {}).get("maker")
    if ordered:
        return str(ordered)
    seen = [each.get("value") for each in result.get("observations") or () if each.get("attribute") == "maker"]
    return _known_maker(tuple(str(word) for word in seen if word))


@cache
def _known_maker(read: tuple[str, ...]) -> str:
    """The maker that the words read name or nearly spell; a word that is nobody's is shown as read, not as a maker."""
    matches = [match for word in read if (match := match_maker(word)) is not None]
    exact = next((match for match in matches if match.exact), None)
    if exact is not None or matches:
        return (exact or matches[0]).name
    return f"maker not known by the shop (read: {read[0]})" if read else ""
