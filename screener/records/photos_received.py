"""Photos of received items: which there are, what their pictures are known again by, and where one was given before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, not_, select

from screener.records.model import day_says
from screener.records.queries import in_chunks, is_superseded
from screener.records.tables import item_photos, items, readings, reference_photos, runs

if TYPE_CHECKING:
    from collections.abc import Collection

    from sqlalchemy import Connection
    from sqlalchemy.sql.elements import ColumnElement


@dataclass(frozen=True, slots=True)
class KnownPrint:
    """What the picture of a read photo is known again by (`screener.vision.fingerprint`), and its size."""

    fingerprint: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class PhotoSighting:
    """Where and when a photo was received before."""

    photo_sha256: str
    photo_name: str
    item_id: int
    item: str
    """Key of the item in its delivery."""
    line: str
    requirement: str
    run_id: int
    recorded_at: str
    order_name: str
    order_sha256: str

    @property
    def says(self) -> str:
        """Where it was given, for a person: ``12 March 2026, item 4 of order-77.csv (record 18)``."""
        order = f" of {self.order_name}" if self.order_name else ""
        return f"{day_says(self.recorded_at)}, item {self.item}{order} (record {self.item_id})"


def newest_items(connection: Connection, at_most: int) -> int:
    """Return the number of the item after which about ``at_most`` photos of items were recorded; 0 for all."""
    newest = select(item_photos.c.item_id).order_by(item_photos.c.item_id.desc()).offset(at_most).limit(1)
    return int(connection.execute(newest).scalar() or 0)


def photos_received(connection: Connection, after_item: int) -> list[str]:
    """Return the hashes of the photos of received items with a higher number, oldest first, each once."""
    chosen = (
        select(item_photos.c.photo_sha256)
        .select_from(item_photos.join(items, item_photos.c.item_id == items.c.id).join(runs))
        .where(item_photos.c.item_id > after_item, runs.c.kind == "receive")
        .order_by(item_photos.c.item_id, item_photos.c.position)
    )
    return list(dict.fromkeys(connection.execute(chosen).scalars()))


def last_item(connection: Connection) -> int:
    """Return the highest number of an item, 0 for none."""
    return int(connection.execute(select(func.max(items.c.id))).scalar() or 0)


def read_prints(connection: Connection, photos: Collection[str]) -> dict[str, KnownPrint]:
    """Return what pictures are known again by, by hash, as the newest reader that made a fingerprint left it."""
    found: dict[str, KnownPrint] = {}
    text = readings.c.look["fingerprint"].as_string()
    width, height = (readings.c.look[name].as_integer() for name in ("width_px", "height_px"))
    for chunk in in_chunks(photos):
        chosen = select(readings.c.photo_sha256, text, width, height).where(readings.c.photo_sha256.in_(chunk))
        for sha, *values in connection.execute(chosen.order_by(readings.c.read_at)):
            if values[0]:
                found[sha] = KnownPrint(*values)
    return found


def references_among(connection: Connection, photos: Collection[str]) -> set[str]:
    """Return which of these photos the shop keeps, or kept, as references."""
    known = reference_photos.c.photo_sha256
    return {
        sha
        for chunk in in_chunks(photos)
        for sha in connection.execute(select(known).where(known.in_(chunk))).scalars()
    }


def photo_sightings(connection: Connection, photos: Collection[str], except_run: int) -> list[PhotoSighting]:
    """Return where photos were received in other runs, oldest first.

    Left out are answers that no longer count, parts verified, and photos that the shop keeps as references.
    """
    joined = item_photos.join(items, item_photos.c.item_id == items.c.id).join(runs, items.c.run_id == runs.c.id)
    chosen = (
        select(
            item_photos.c.photo_sha256,
            item_photos.c.name.label("photo_name"),
            items.c.id.label("item_id"),
            func.coalesce(items.c.result["item"].as_string(), items.c.item_key).label("item"),
            items.c.line,
            items.c.requirement,
            items.c.run_id,
            items.c.recorded_at,
            runs.c.order_name,
            runs.c.order_sha256,
        )
        .select_from(joined)
        .where(runs.c.kind == "receive", items.c.run_id != except_run, not_(is_superseded()), not_(_is_reference()))
        .order_by(items.c.id, item_photos.c.position)
    )
    found = []
    for chunk in in_chunks(photos):
        rows = connection.execute(chosen.where(item_photos.c.photo_sha256.in_(chunk))).mappings()
        found += [PhotoSighting(**row) for row in rows]
    return found


def _is_reference() -> ColumnElement[bool]:
    """Condition on ``item_photos``: that a reference is seen again is its purpose."""
    return select(reference_photos.c.id).where(reference_photos.c.photo_sha256 == item_photos.c.photo_sha256).exists()
