"""``screener hold`` and ``screener release``: a person keeps an item back, or lets it go, as on the bench page.

JSON, schema ``screener.decision/1``. Exit code 0; 2 where nobody or no reason is named, there is no such item, its line
has a newer answer, or it stands so already.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.log import existing_record
from screener.cli.output import print_json, print_plain
from screener.cli.receive import RecordOption
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.records.decisions import Decision
    from screener.records.model import StoredItem
    from screener.records.standing import Standing

SCHEMA = "screener.decision/1"
ItemNumber = Annotated[
    int, typer.Argument(metavar="ITEM", help="Number of the item in the record (`screener log items` lists them).")
]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides (needed).")]
Reason = Annotated[
    str, typer.Option("--reason", "--why", metavar="TEXT", help="Why (needed); name and reason are kept.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.decision/1.")]


def hold_command(
    item: ItemNumber, *, by: By = "", reason: Reason = "", record: RecordOption = None, as_json: AsJson = False
) -> None:
    """Keep an item back until somebody releases it, whatever a later answer says."""
    _decide("hold", item, by, reason, record, as_json=as_json)


def release_command(
    item: ItemNumber, *, by: By = "", reason: Reason = "", record: RecordOption = None, as_json: AsJson = False
) -> None:
    """Let an item go: it may be used, on your word. A later answer for its line needs a release of its own."""
    _decide("release", item, by, reason, record, as_json=as_json)


def _decide(kind: Decision, item: int, by: str, reason: str, record: str | None, *, as_json: bool) -> None:
    from screener.cli.what_now import what_now
    from screener.records.decisions import decide
    from screener.records.standing import standings, what_to_do

    command = f"screener {kind}"
    if not by.strip():
        raise WrongUsage("--by is missing.", where=command, next_step="Say who decides: it stays in the record.")
    if not reason.strip():
        raise WrongUsage("--reason is missing.", where=command, next_step="Say why: it stays in the record.")
    with existing_record(record) as opened:
        stored = opened.item(item)
        before = standings(opened)(stored)
        if not _said_already(kind, by, reason, before):
            _check_open(kind, stored, before)
        event = decide(opened, kind, item, by.strip(), reason.strip())
        standing = standings(opened)(stored)
    lines = what_now(stored, standing, record)
    if as_json:
        now = {"decided": kind, "event": event, "what_to_do": what_to_do(stored, standing), "next_step": lines[0]}
        print_json({"schema": SCHEMA, "item": item, **now})
        return
    recorded = "Recorded before" if event is None else "Recorded"
    print_plain(f"{recorded}: item {item}, {stored.requirement}, {'held' if kind == 'hold' else 'released'} by {by}.")
    for line in lines:
        print_plain(line)


def _said_already(kind: Decision, by: str, reason: str, standing: Standing | None) -> bool:
    said = (kind, by.strip(), reason.strip())
    return standing is not None and (standing.kind, standing.who, standing.why) == said


def _check_open(kind: Decision, stored: StoredItem, standing: Standing | None) -> None:
    from screener.records.decisions import decisions_open
    from screener.records.standing import what_to_do

    word = what_to_do(stored, standing)
    if kind in decisions_open(word, standing):
        return
    if word == "BEGUN":
        says, step = "nothing of this item was looked at yet.", "Take its photos first."
    elif standing is not None:
        says = f"this item was {standing.by} already ({standing.why})."
        step = "Release it, or leave it as it is." if kind == "hold" else "There is nothing to release."
    else:
        says, step = "this item may be used by its own answer.", "There is nothing to release."
    raise WrongUsage(says, where=f"item {stored.id}", next_step=step, code="nothing_to_decide")
