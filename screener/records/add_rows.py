"""The rows that a run and an item become in the database, added in the caller's transaction."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, select

from screener import __version__
from screener.errors import ScreenerError
from screener.records import queries
from screener.records.model import ItemRecord, Run, RunKind, utc_now
from screener.records.place import Place
from screener.records.plain_text import storable_json, storable_text
from screener.records.prices import add_price
from screener.records.tables import item_photos, items, photos, runs, serials


def run_values(
    kind: RunKind, order_name: str, order_sha256: str, photos_fingerprint: str, settings: Mapping[str, Any] | None
) -> dict[str, Any]:
    """Return the row of a run; ``inputs_sha256`` stands for everything that makes two runs the same."""
    clean = storable_json(settings or {})
    inputs = json.dumps([kind, order_sha256, photos_fingerprint, clean, __version__], sort_keys=True)
    return {
        "kind": kind,
        "started_at": utc_now(),
        "order_name": storable_text(order_name),
        "order_sha256": order_sha256,
        "inputs_sha256": hashlib.sha256(inputs.encode()).hexdigest(),
        "settings": clean,
        "tool_version": __version__,
    }


def add_run(connection: Connection, values: Mapping[str, Any]) -> Run:
    """Add a run and return it."""
    run_id = insert_row(connection, runs, values)
    return queries.run_of(connection.execute(queries.select_runs().where(runs.c.id == run_id)).one())


def finished_keys(connection: Connection, run_id: int) -> frozenset[str]:
    """Return the keys of the items of a run that are recorded."""
    return frozenset(connection.execute(select(items.c.item_key).where(items.c.run_id == run_id)).scalars())


def photo_values(sha256: str, name: str, path: Path, place: Place) -> dict[str, Any]:
    """Return the row of a photo that is in the archive."""
    return {
        "sha256": sha256,
        "name": storable_text(name),
        "bytes": path.stat().st_size,
        "stored_path": path.relative_to(place.photos).as_posix(),
        "first_seen_at": utc_now(),
    }


def add_item_rows(connection: Connection, run_id: int, item: ItemRecord, photo_rows: list[dict[str, Any]]) -> int:
    """Add an item with its photos, serials and price; return its id. The same item again only returns the id it has.

    Raises
    ------
    ScreenerError
        The run has another result under this key.
    """
    key = storable_text(item.item_key)
    mine = (items.c.run_id == run_id) & (items.c.item_key == key)
    there = connection.execute(select(items.c.id, items.c.fingerprint).where(mine)).first()
    if there is not None:
        return _same_item(there.id, there.fingerprint, item)
    item_id = insert_row(connection, items, _item_values(run_id, item))
    _add_photos(connection, item_id, photo_rows)
    for each in dict.fromkeys(item.serials):
        values = {"serial": storable_text(each.serial), "scope": storable_text(each.scope), "run_id": run_id}
        connection.execute(insert(serials).values(item_id=item_id, **values))
    if item.price is not None:
        add_price(connection, item_id, item.price)
    return item_id


def _same_item(item_id: int, fingerprint: str, item: ItemRecord) -> int:
    if fingerprint != storable_text(item.fingerprint):
        raise ScreenerError(
            "this run has already recorded another result for this item.",
            where=item.item_key,
            next_step="Record a correction, or screen the delivery again as a new run.",
            code="item_recorded",
        )
    return item_id


def _item_values(run_id: int, item: ItemRecord) -> dict[str, Any]:
    texts = ("item_key", "fingerprint", "disposition", "suspicion", "requirement", "supplier", "line")
    return {
        "run_id": run_id,
        "recorded_at": utc_now(),
        "result": storable_json(item.result),
        **{name: storable_text(getattr(item, name)) for name in texts},
    }


def _add_photos(connection: Connection, item_id: int, photo_rows: list[dict[str, Any]]) -> None:
    for position, row in enumerate(photo_rows):
        known = connection.execute(select(photos.c.sha256).where(photos.c.sha256 == row["sha256"])).first()
        if known is None:
            connection.execute(insert(photos).values(row))
        connection.execute(
            insert(item_photos).values(item_id=item_id, position=position, photo_sha256=row["sha256"], name=row["name"])
        )


def insert_row(connection: Connection, table: Any, values: Mapping[str, Any]) -> int:
    """Add one row and return its id."""
    key = connection.execute(insert(table).values(values)).inserted_primary_key
    return int(key[0]) if key else 0
