"""Answers that are renewed, and the one order of all events.

A line on the bench is screened again whenever something new is known of it. Nothing is changed for that: the new
answer is a new item of the same run, its key is the line's with a number (``3``, then ``3~2``, ``3~3``), its ``result``
names the plain key, and an event ``superseded`` on the older item says that it no longer counts. The event
``screened`` says which events the answer knew, so that a program that was killed sees what is still to be done.

Events get their numbers in the order in which they become visible, whatever the database: a reader that has seen
number n misses nothing by asking for what came after n.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, func, insert, select

from screener.records.database import take_turns
from screener.records.model import Event, ItemRecord, utc_now
from screener.records.plain_text import storable_text
from screener.records.tables import events, items

VERSION_SIGN = "~"
_TURN = 1
"""One program at a time adds events: PostgreSQL hands out numbers before a row can be seen."""


def add_event(connection: Connection, values: Mapping[str, Any]) -> int:
    """Add one event, in turn, and return its id."""
    take_turns(connection, _TURN)
    key = connection.execute(insert(events).values(values)).inserted_primary_key
    return int(key[0]) if key else 0


def add_version(
    connection: Connection,
    run_id: int,
    item: ItemRecord,
    upto: int,
    add_item: Callable[[ItemRecord], int],
) -> int:
    """Add an answer unless the one that counts was computed from the same; return the id of the one that counts now."""
    take_turns(connection, _TURN)
    earlier = _versions(connection, run_id, item.item_key)
    newest = earlier[-1] if earlier else None
    item_id: int
    if newest is not None and newest.fingerprint == storable_text(item.fingerprint):
        item_id = newest.id
    else:
        suffix = f"{VERSION_SIGN}{len(earlier) + 1}" if earlier else ""
        item_id = add_item(replace(item, item_key=item.item_key + suffix))
        if newest is not None:
            _note(connection, "superseded", run_id, newest.id, {"line": item.item_key, "by": item_id})
    _note(connection, "screened", run_id, item_id, {"line": item.item_key, "upto": upto})
    return item_id


def events_after(
    connection: Connection, event_id: int, kinds: Collection[str], run_id: int | None, at_most: int
) -> tuple[Event, ...]:
    """Return up to ``at_most`` events with a higher id."""
    conditions = [events.c.id > event_id]
    if kinds:
        conditions.append(events.c.kind.in_(list(kinds)))
    if run_id is not None:
        conditions.append(events.c.run_id == run_id)
    rows = connection.execute(select(events).where(*conditions).order_by(events.c.id).limit(at_most)).mappings()
    return tuple(Event(**row) for row in rows)


def last_event(connection: Connection) -> int:
    """Return the highest id."""
    return int(connection.execute(select(func.max(events.c.id))).scalar() or 0)


def _versions(connection: Connection, run_id: int, key: str) -> list[Any]:
    """The answers recorded for one line, oldest first."""
    named = items.c.item_key.startswith(storable_text(key), autoescape=True)
    rows = connection.execute(
        select(items.c.id, items.c.fingerprint, items.c.result)
        .where(items.c.run_id == run_id, named)
        .order_by(items.c.id)
    )
    return [row for row in rows if row.result.get("item") == storable_text(key)]


def _note(connection: Connection, kind: str, run_id: int, item_id: int, data: Mapping[str, Any]) -> None:
    values = {"run_id": run_id, "item_id": item_id, "kind": kind, "at": utc_now(), "who": "", "why": "", "data": data}
    connection.execute(insert(events).values(values))
