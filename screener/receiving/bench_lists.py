"""What the bench looks up across deliveries: the line of a scanned code, items kept back, suppliers."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from screener.codes.scan import interpret_scan
from screener.parts import compare, explain
from screener.receiving.assign import LineToFill, lines_fitting
from screener.receiving.bench_model import FoundLine, HeldItem, SupplierSummary
from screener.receiving.bench_run import DECISIONS, load_run, standing_of
from screener.records.begun import is_begun
from screener.records.every_event import every_event

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.parts.model import Outcome
    from screener.receiving.bench_model import Standing
    from screener.receiving.bench_run import BenchRun
    from screener.records.model import Event, StoredItem
    from screener.records.record import Record

MOST_OPEN = 50
"""Unfinished deliveries that a scan is looked up in, the newest of them."""
NOT_TOLD = "(not told)"


def find_lines(record: Record, text: str) -> tuple[FoundLine, ...]:
    """Return the lines of unfinished deliveries that a scanned code may belong to; see `Bench.find_line`.

    A code that names a part finds the lines that need it, one that gives only an article number those for which the
    same number was read before.
    """
    fields = interpret_scan(text, today=dt.datetime.now(dt.UTC).astimezone().date()).fields
    named = [f"the code says {fields.designation}"] if fields.designation else []
    designations = [fields.designation] if fields.designation else []
    if fields.gtin and not designations:
        designations = _needed_with(record, fields.gtin)
        named = [f"article {fields.gtin} was received for {each} before" for each in designations]
    return tuple(
        found
        for loaded in _open_deliveries(record)
        for designation, because in zip(designations, named, strict=True)
        for found in _fitting(loaded, designation, because)
    )


def held_items(record: Record) -> tuple[HeldItem, ...]:
    """Return the items kept back now, newest first; see `Bench.held`."""
    names = {run.id: run.order_name for run in record.runs()}
    decisions = _decisions(record)
    kept = {item.id: item for item in record.items(disposition="hold")}
    for run_id, line in decisions:
        kept |= {item.id: item for item in record.items(run=run_id) if _line(item) == line}
    held = []
    for item in kept.values():
        standing = standing_of(decisions.get((item.run_id, _line(item)), ()), item.id)
        if (item.disposition == "hold" and not is_begun(item)) if standing is None else standing.kind == "hold":
            held.append(_held(item, names[item.run_id], standing))
    return tuple(sorted(held, key=lambda each: -each.item_id))


def supplier_summaries(record: Record) -> tuple[SupplierSummary, ...]:
    """Return what was received from each supplier; see `Bench.suppliers`."""
    by_supplier: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
    for supplier, disposition, run_id, recorded_at in record.tally():
        by_supplier[supplier.strip() or NOT_TOLD].append((disposition, run_id, recorded_at))
    return tuple(_summary(name, items) for name, items in sorted(by_supplier.items(), key=lambda pair: pair[0].lower()))


def _open_deliveries(record: Record) -> Iterator[BenchRun]:
    unfinished = [run.id for run in record.runs() if run.finished_at is None and run.kind == "receive"]
    for run_id in reversed(unfinished[-MOST_OPEN:]):
        yield load_run(record, run_id, answers=False)


def _fitting(loaded: BenchRun, designation: str, because: str) -> list[FoundLine]:
    told = explain(designation)
    lines = [LineToFill(key, loaded.requirement(key).explained) for key in loaded.keys]
    found = [(key, loaded.requirement(key)) for key in lines_fitting(told, lines)]
    return [
        FoundLine(
            loaded.run.id,
            loaded.run.order_name,
            key,
            need.need,
            because + _set_beside(compare(need.explained, told, duty=need.duty).outcome),
        )
        for key, need in found
    ]


def _set_beside(outcome: Outcome) -> str:
    """Say at once that a code names another part of that size."""
    return ": not what this line asks for" if outcome in {"wrong", "review"} else ""


def _needed_with(record: Record, gtin: str) -> list[str]:
    """What was needed where this article number was read and the item was not sent back."""
    wanted = gtin.zfill(14)
    found = [
        item.requirement
        for item in record.items(mentions=wanted)
        if item.disposition != "reject"
        and any(o["attribute"] == "gtin" and o["value"] == wanted for o in item.result.get("observations", ()))
    ]
    return list(dict.fromkeys(reversed(found)))


def _decisions(record: Record) -> dict[tuple[int, str], list[Event]]:
    by_line: dict[tuple[int, str], list[Event]] = defaultdict(list)
    for event in every_event(record, DECISIONS):
        if event.item_id is not None and event.run_id is not None and "line" in event.data:
            by_line[event.run_id, event.data["line"]].append(event)
        elif event.item_id is not None:
            item = record.item(event.item_id)
            by_line[item.run_id, _line(item)].append(event)
    return by_line


def _line(item: StoredItem) -> str:
    return str(item.result.get("item", item.item_key))


def _held(item: StoredItem, order_name: str, standing: Standing | None) -> HeldItem:
    return HeldItem(
        item_id=item.id,
        run_id=item.run_id,
        order_name=order_name,
        line=_line(item),
        need=item.requirement,
        supplier=item.supplier,
        recorded_at=item.recorded_at,
        reason=standing.why if standing else item.result.get("reason", ""),
        next_step=item.result.get("next_step", ""),
        exit=item.result.get("exit", ""),
        suspicion=item.suspicion,
        standing=standing,
        found=item.result.get("reason", ""),
    )


def _summary(name: str, items: list[tuple[str, int, str]]) -> SupplierSummary:
    counts = Counter(disposition for disposition, _, _ in items)
    return SupplierSummary(
        supplier=name,
        deliveries=len({run_id for _, run_id, _ in items}),
        items=len(items),
        use=counts["accept"],
        hold=counts["hold"],
        send_back=counts["reject"],
        last_received=max(recorded_at for _, _, recorded_at in items),
    )
