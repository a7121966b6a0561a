"""``screener log``: what was recorded."""

from __future__ import annotations

import datetime as dt
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from rich.table import Table

from screener.cli.output import print_json, print_plain, results
from screener.cli.plain_usage import PlainGroup
from screener.cli.receive import RecordOption
from screener.errors import InputUnreadable, WrongUsage
from screener.records.standing import standing_at, standings, what_to_do

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.records.model import Event, StoredItem
    from screener.records.record import Record
    from screener.records.standing import Standing, Standings

app = typer.Typer(
    cls=PlainGroup, help="List, show and export what was recorded.", no_args_is_help=True, rich_markup_mode=None
)

RunOption = Annotated[int | None, typer.Option("--run", metavar="N", help="Only this run.")]
DispositionOption = Annotated[
    str | None, typer.Option("--disposition", metavar="accept|hold|reject", help="Only items with this disposition.")
]
SupplierOption = Annotated[str | None, typer.Option("--supplier", metavar="NAME", help="Only this supplier.")]
SinceOption = Annotated[str | None, typer.Option("--since", metavar="DATE", help="Only items recorded since (UTC).")]
JsonOption = Annotated[bool, typer.Option("--json", help="One JSON object a line.")]


@app.command("runs")
def runs_command(*, record: RecordOption = None, as_json: JsonOption = False) -> None:
    """List the runs: deliveries received and parts verified."""
    with existing_record(record) as opened:
        runs = opened.runs()
    if as_json:
        for run in runs:
            print_json({name: getattr(run, name) for name in run.__slots__})
        return
    table = Table("run", "kind", "started (UTC)", "order", "items", "finished", box=None, pad_edge=False)
    for run in runs:
        finished = "yes" if run.finished_at else "no"
        table.add_row(str(run.id), run.kind, run.started_at[:16], run.order_name, str(run.item_count), finished)
    results.print(table if runs else "Nothing is recorded yet.")
    if runs:
        results.print("A run is one delivery, or one part verified; its items: screener log items --run N.")


@app.command("items")
def items_command(
    *,
    run: RunOption = None,
    disposition: DispositionOption = None,
    supplier: SupplierOption = None,
    since: SinceOption = None,
    record: RecordOption = None,
    as_json: JsonOption = False,
) -> None:
    """List items with their disposition."""
    with existing_record(record) as opened:
        _known_run(opened, run)
        decided = standings(opened)
        wanted = opened.items(run=run, supplier=supplier, since=iso_date(since))
        found = standing_at(wanted, decided, _known(disposition))
        if as_json:
            for item in found:
                print_json(_item_json(item, decided(item)))
        else:
            _print_table(found, decided)


@app.command("show")
def show_command(
    item: Annotated[int, typer.Argument(metavar="ITEM", help="Number of the item in the record.")],
    *,
    record: RecordOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one item whole: answer, findings, what was not checked, and what was added later."""
    from screener.cli.what_now import what_now

    with existing_record(record) as opened:
        stored = opened.item(item)
        standing = standings(opened)(stored)
    if as_json:
        print_json(_item_json(stored, standing))
        return
    result = stored.result
    line = f", line {stored.line or stored.item_key}"
    says = f"record {stored.id} (run {stored.run_id}{line}): {stored.requirement} – {_do(stored, standing)}"
    print_plain(says, style="bold")
    print_plain(f"  {_reason(stored, standing)}")
    for line in what_now(stored, standing, record):
        print_plain(f"  {line}")
    for finding in result.get("findings", ()):
        print_plain(f"  {finding['weight']}: {finding['says']} [{finding['rests_on']}]")
    for line in result.get("agreed", ()):
        print_plain(f"  agrees: {line}")
    for line in result.get("not_checked", ()):
        print_plain(f"  not checked: {line}")
    for photo in stored.photos:
        print_plain(f"  photo: {photo.name} ({photo.sha256[:12]})")
    for event in stored.events:
        print_plain(f"  {_event_says(event, stored.events)}")


@app.command("export")
def export_command(
    *,
    form: Annotated[str, typer.Option("--format", metavar="json|csv", help="Form of the export.")] = "json",
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="File to write; by default the terminal.")
    ] = None,
    run: RunOption = None,
    disposition: DispositionOption = None,
    supplier: SupplierOption = None,
    since: SinceOption = None,
    record: RecordOption = None,
) -> None:
    """Export items: JSON whole, or CSV that is safe to open in a spreadsheet."""
    from screener.reports.whole_file import write_whole

    with existing_record(record) as opened:
        _known_run(opened, run)
        filters = {"run": run, "disposition": _known(disposition), "supplier": supplier, "since": iso_date(since)}
        pieces = opened.export(_form(form), **filters)
        if out is None:
            sys.stdout.writelines(pieces)
            return
        write_whole(out, pieces)
    print_plain(f"Written: {out}")


_EVENT_WORDS = {"hold": "held", "release": "released", "correction": "corrected", "superseded": "answered anew"}


def _event_says(event: Event, events: Iterable[Event]) -> str:
    if event.data.get("withdrawn") is not None:
        before = next((each for each in events if each.id == event.data["withdrawn"]), None)
        kind = f"outcome{f' of {before.at[:16]}' if before else ''} withdrawn"
    else:
        kind = _EVENT_WORDS.get(event.kind, event.kind)
        kind = f"{event.kind}: {event.data['confirmed']}," if "confirmed" in event.data else kind
    return f"{event.at[:16]} {kind} by {event.who}: {event.why or 'no reason was given'}"


def existing_record(record: str | None) -> Record:
    """Open a record that is there: a mistyped name must not make a new, empty one."""
    from screener.records.place import find_place
    from screener.records.record import Record

    place = find_place(record)
    if place.file is not None and not place.file.exists():
        raise InputUnreadable(
            "there is no record here.", where=place.says, next_step="Check --record; receiving something makes one."
        )
    if place.file is not None and place.file.is_file() and place.file.stat().st_size == 0:
        raise InputUnreadable(
            "this file is empty, so it is no record.",
            where=place.says,
            next_step="Check --record, or put back a copy; receiving something makes a new one.",
        )
    return Record.open(record)


def iso_date(since: str | None) -> str | None:
    """Return a date or moment as typed, checked."""
    if since is None:
        return None
    try:
        return dt.datetime.fromisoformat(since).isoformat()[: len(since)]
    except ValueError:
        raise WrongUsage(f"“{since}” is no date.", where="--since", next_step="Write it as 2026-03-12.") from None


def _form(form: str) -> Literal["json", "csv"]:
    if form == "json":
        return "json"
    if form == "csv":
        return "csv"
    raise WrongUsage(f"“{form}” is not json or csv.", where="--format")


def _known_run(record: Record, run: int | None) -> None:
    """Refuse the number of no run: nothing found is another answer than nothing there."""
    if run is not None:
        record.run(run)


def _known(disposition: str | None) -> str | None:
    if disposition not in {None, "accept", "hold", "reject"}:
        raise WrongUsage(f"“{disposition}” is not accept, hold or reject.", where="--disposition")
    return disposition


def _reason(stored: StoredItem, standing: Standing | None) -> str:
    """A person's decision first, then what the answer itself says."""
    reason = str(stored.result.get("reason", ""))
    if standing is None:
        return reason
    return f"{standing.by}: {standing.why} (the answer itself says: {what_to_do(stored, None)}. {reason})"


def _print_table(found: Iterable[StoredItem], decided: Standings) -> None:
    table = Table("record", "run", "line", "needed", "do", "why", box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for stored in found:
        standing = decided(stored)
        do, reason = _do(stored, standing), _reason(stored, standing)
        row = (str(stored.id), str(stored.run_id), stored.item_key, stored.requirement, do, reason)
        table.add_row(*(cell.replace("[", "\\[") for cell in row))
    results.print(table if table.row_count else "No item is recorded that fits.")
    if table.row_count:
        results.print("Commands take the number under “record”: screener log show N. “run” is the delivery, for audit.")


def _do(stored: StoredItem, standing: Standing | None) -> str:
    """What to do now; which of the two kinds of hold it is, for they ask for opposite things."""
    word = what_to_do(stored, standing)
    if word != "HOLD":
        return word
    if standing is not None:
        return f"{word}, keep and claim" if standing.kept else word
    way = stored.result.get("exit")
    return f"{word}, {way}" if way else word


def _item_json(stored: StoredItem, standing: Standing | None) -> dict[str, object]:
    return {
        "id": stored.id,
        "run": stored.run_id,
        "item": stored.item_key,
        "recorded_at": stored.recorded_at,
        "disposition": stored.disposition,
        "what_to_do": what_to_do(stored, standing),
        "decided": asdict(standing) if standing else None,
        "suspicion": stored.suspicion,
        "requirement": stored.requirement,
        "supplier": stored.supplier,
        "photos": [{"name": p.name, "sha256": p.sha256} for p in stored.photos],
        "events": [{"at": e.at, "kind": e.kind, "who": e.who, "why": e.why} for e in stored.events],
        "result": json.loads(json.dumps(stored.result)),
    }
