"""What the bench looks up across deliveries: the line of a scanned code, items kept back, suppliers."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from screener.codes.scan import interpret_scan
from screener.parts import compare, explain
from screener.receiving.assign import LineToFill, lines_fitting
from screener.receiving.bench_model import FoundLine, HeldItem, SupplierSummary
from screener.receiving.bench_run import load_run
from screener.records.begun import is_begun
from screener.records.standing import decisions_by_line, line_of, standing_of, what_to_do

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.parts.model import Outcome
    from screener.receiving.bench_run import BenchRun
    from screener.records.model import StoredItem
    from screener.records.record import Record
    from screener.records.standing import Standing

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
    decisions = decisions_by_line(record)
    kept = {item.id: item for item in record.items(disposition="hold")}
    for run_id, line in decisions:
        kept |= {item.id: item for item in record.items(run=run_id) if line_of(item) == line}
    held = []
    for item in kept.values():
        standing = standing_of(decisions.get((item.run_id, line_of(item)), ()), item)
        if what_to_do(item, standing) == "HOLD":
            held.append(_held(item, names[item.run_id], standing))
    return tuple(sorted(held, key=lambda each: -each.item_id))


def supplier_summaries(record: Record) -> tuple[SupplierSummary, ...]:
    """Return what was received from each supplier; see `Bench.suppliers`."""
    by_supplier: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
    for supplier, disposition, run_id, recorded_at in record.tally():
        by_supplier[supplier.strip() or NOT_TOLD].append((disposition, run_id, recorded_at))
    moved = _moved_by_people(record)
    names = sorted(by_supplier.keys() | moved.keys(), key=str.lower)
    return tuple(_summary(name, by_supplier[name], moved[name]) for name in names)


def _moved_by_people(record: Record) -> dict[str, list[tuple[str, StoredItem, bool]]]:
    """The items received on which a hold or release stands, by supplier.

    Each with the disposition that follows, and whether the tally has it.
    """
    decisions = decisions_by_line(record)
    received = {run.id for run in record.runs() if run.kind == "receive"}
    moved: dict[str, list[tuple[str, StoredItem, bool]]] = defaultdict(list)
    for run_id in sorted({run_id for run_id, _ in decisions} & received):
        for item in record.items(run=run_id):
            said = decisions.get((run_id, line_of(item)), ())
            standing = standing_of(said, item)
            if standing is not None:
                counted = not is_begun(item) or any(event.item_id == item.id for event in said)
                moved[item.supplier.strip() or NOT_TOLD].append((standing.disposition, item, counted))
    return moved


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


def _held(item: StoredItem, order_name: str, standing: Standing | None) -> HeldItem:
    return HeldItem(
        item_id=item.id,
        run_id=item.run_id,
        order_name=order_name,
        line=line_of(item),
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


def _summary(
    name: str, items: list[tuple[str, int, str]], moved: list[tuple[str, StoredItem, bool]]
) -> SupplierSummary:
    # What was only begun is in no tally unless a person has decided on that very answer.
    items = [*items, *((item.disposition, item.run_id, item.recorded_at) for _, item, counted in moved if not counted)]
    counts = Counter(disposition for disposition, _, _ in items)
    counts.subtract(item.disposition for _, item, _ in moved)
    counts.update(now for now, _, _ in moved)
    return SupplierSummary(
        supplier=name,
        deliveries=len({run_id for _, run_id, _ in items}),
        items=len(items),
        use=counts["accept"],
        hold=counts["hold"],
        send_back=counts["reject"],
        last_received=max(recorded_at for _, _, recorded_at in items),
    )
