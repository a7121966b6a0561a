"""What is asked of the record: selects, and rows turned into the values of ``model.py``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Row, Select, Text, and_, cast, func, not_, select
from sqlalchemy.sql.elements import ColumnElement

from screener.records.begun import only_begun
from screener.records.model import Event, PhotoRef, Run, SerialSighting, StoredItem
from screener.records.tables import events, item_photos, items, readings, runs, serials

DECIDED = ("hold", "release", "outcome")
"""Kinds of events by which a person has said something of an item."""
ASK_AT_ONCE = 400
"""Values in one IN list; SQLite's older limit is 999 for a whole statement."""


def in_chunks(values: Iterable[str]) -> Iterator[list[str]]:
    """Yield the distinct values in lists short enough for one statement."""
    rest = iter(dict.fromkeys(values))
    while chunk := list(islice(rest, ASK_AT_ONCE)):
        yield chunk


def select_runs() -> Select[Any]:
    """Every run, oldest first, with when it was finished and how many items it has."""
    finished_at = (
        select(func.min(events.c.at))
        .where(events.c.run_id == runs.c.id, events.c.kind == "run_finished")
        .scalar_subquery()
        .label("finished_at")
    )
    mine = (items.c.run_id == runs.c.id) & not_(is_superseded())
    item_count = select(func.count()).where(mine).scalar_subquery().label("item_count")
    return select(runs, finished_at, item_count).order_by(runs.c.id)


def is_superseded() -> ColumnElement[bool]:
    """Condition on ``items``: a newer answer for the same line counts instead."""
    return select(events.c.id).where(events.c.item_id == items.c.id, events.c.kind == "superseded").exists()


def is_unfinished() -> ColumnElement[bool]:
    """Condition on ``runs``: no ``run_finished`` event was added."""
    return not_(select(events.c.id).where(events.c.run_id == runs.c.id, events.c.kind == "run_finished").exists())


def run_of(row: Row[Any]) -> Run:
    """Return the `Run` of a row of `select_runs`."""
    return Run(
        id=row.id,
        kind=row.kind,
        started_at=row.started_at,
        order_name=row.order_name,
        order_sha256=row.order_sha256,
        settings=row.settings,
        tool_version=row.tool_version,
        finished_at=row.finished_at,
        item_count=row.item_count,
    )


def item_conditions(
    run: int | None, disposition: str | None, supplier: str | None, since: str | None
) -> list[ColumnElement[bool]]:
    """Return the conditions for the filters that are given; a supplier is found whatever its letters' case."""
    conditions: list[ColumnElement[bool]] = []
    if run is not None:
        conditions.append(items.c.run_id == run)
    if disposition is not None:
        conditions.append(items.c.disposition == disposition)
    if supplier is not None:
        conditions.append(func.lower(items.c.supplier) == supplier.lower())
    if since is not None:
        conditions.append(items.c.recorded_at >= since)
    return conditions


def mentions(text: str) -> ColumnElement[bool]:
    """Condition on ``items``: the answer holds this text somewhere."""
    return cast(items.c.result, Text).contains(text, autoescape=True)


def read_items(
    connection: Connection, conditions: Sequence[ColumnElement[bool]], after: int, at_most: int
) -> list[StoredItem]:
    """Return up to ``at_most`` items with an id above ``after``, in the order recorded."""
    chosen = select(items).where(items.c.id > after, *conditions).order_by(items.c.id).limit(at_most)
    rows = connection.execute(chosen).mappings().all()
    photos = _photos_of(connection, [row["id"] for row in rows])
    return [StoredItem(**row, photos=photos[row["id"]]) for row in rows]


def read_tally(connection: Connection) -> list[tuple[str, str, int, str]]:
    """Return what `Record.tally` gives."""
    chosen = (
        select(items.c.id, items.c.supplier, items.c.disposition, items.c.run_id, items.c.recorded_at)
        .join(runs, items.c.run_id == runs.c.id)
        .where(runs.c.kind == "receive", not_(is_superseded()))
    )
    begun = _begun(connection)
    return [tuple(row)[1:] for row in connection.execute(chosen) if row.id not in begun]


def _begun(connection: Connection) -> set[int]:
    """Items of which nothing but a code was seen and about which nobody has decided; few, so they are read whole."""
    pictured = select(item_photos.c.item_id).where(item_photos.c.item_id == items.c.id).exists()
    decided = select(events.c.id).where(events.c.item_id == items.c.id, events.c.kind.in_(DECIDED)).exists()
    chosen = select(items.c.id, items.c.disposition, items.c.result).where(
        items.c.disposition == "hold", not_(pictured), not_(decided), not_(is_superseded())
    )
    return {row.id for row in connection.execute(chosen) if only_begun(row.disposition, 0, row.result)}


def read_events(connection: Connection, condition: ColumnElement[bool]) -> tuple[Event, ...]:
    """Return the events that meet ``condition``, in the order added."""
    rows = connection.execute(select(events).where(condition).order_by(events.c.id)).mappings()
    return tuple(Event(**row) for row in rows)


def reader_versions(connection: Connection, conditions: Sequence[ColumnElement[bool]]) -> dict[str, int]:
    """Return how many photos of the items that meet ``conditions`` each version of the reader has read."""
    joined = readings.join(item_photos, readings.c.photo_sha256 == item_photos.c.photo_sha256).join(items)
    chosen = (
        select(readings.c.reader_version, func.count())
        .select_from(joined)
        .where(*conditions)
        .group_by(readings.c.reader_version)
    )
    return {str(row[0]): int(row[1]) for row in connection.execute(chosen)}


def read_by(connection: Connection, photos: Collection[str], version: str) -> set[str]:
    """Return which of these photos (by hash) a version of the reader has read."""
    found: set[str] = set()
    for chunk in in_chunks(photos):
        same = readings.c.photo_sha256.in_(chunk) & (readings.c.reader_version == version)
        found.update(connection.execute(select(readings.c.photo_sha256).where(same)).scalars())
    return found


def read_looks(connection: Connection, photos: Collection[str], version: str) -> dict[str, Any]:
    """Return what a version of the reader saw in these photos, by hash; a photo it has not read is absent."""
    looks: dict[str, Any] = {}
    for chunk in in_chunks(photos):
        same = readings.c.photo_sha256.in_(chunk) & (readings.c.reader_version == version)
        looks.update((row.photo_sha256, row.look) for row in connection.execute(select(readings).where(same)))
    return looks


def read_sightings(
    connection: Connection, wanted: Sequence[str], except_run: int | None, except_photos: Collection[str]
) -> list[SerialSighting]:
    """Return where the serials in ``wanted`` were received, leaving out one run and items that share a photo."""
    found = _sightings(connection, wanted, except_run)
    if not (found and except_photos):
        return found
    same_thing = _items_with_photos(connection, except_photos)
    return [sighting for sighting in found if sighting.item_id not in same_thing]


def _sightings(connection: Connection, wanted: Sequence[str], except_run: int | None) -> list[SerialSighting]:
    joined = serials.join(items, serials.c.item_id == items.c.id).join(runs, items.c.run_id == runs.c.id)
    chosen = (
        select(
            serials.c.serial,
            serials.c.scope,
            serials.c.item_id,
            items.c.item_key,
            items.c.run_id,
            items.c.recorded_at,
            items.c.supplier,
            runs.c.order_name,
        )
        .select_from(joined)
        # Receiving one unit twice is odd; looking at it again before it is used is the rule.
        .where(serials.c.serial.in_(wanted), runs.c.kind == "receive", not_(is_superseded()))
        .order_by(serials.c.id)
    )
    if except_run is not None:
        chosen = chosen.where(and_(items.c.run_id != except_run))
    return [SerialSighting(**row) for row in connection.execute(chosen).mappings()]


def _items_with_photos(connection: Connection, photos: Collection[str]) -> set[int]:
    found: set[int] = set()
    for chunk in in_chunks(photos):
        chosen = select(item_photos.c.item_id).where(item_photos.c.photo_sha256.in_(chunk))
        found.update(connection.execute(chosen).scalars())
    return found


def _photos_of(connection: Connection, ids: Sequence[int]) -> defaultdict[int, tuple[PhotoRef, ...]]:
    photos: defaultdict[int, tuple[PhotoRef, ...]] = defaultdict(tuple)
    for start in range(0, len(ids), ASK_AT_ONCE):
        chosen = (
            select(item_photos)
            .where(item_photos.c.item_id.in_(ids[start : start + ASK_AT_ONCE]))
            .order_by(item_photos.c.item_id, item_photos.c.position)
        )
        for row in connection.execute(chosen):
            photos[row.item_id] += (PhotoRef(sha256=row.photo_sha256, name=row.name),)
    return photos
