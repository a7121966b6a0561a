"""The clerk's job: an order and a folder of photos to a screened, recorded delivery."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

from screener.errors import InputUnreadable
from screener.looking.look import READER_VERSION
from screener.parts import explain
from screener.receiving.assign import Assignment, LineToFill, Unassigned, assign, line_of_item
from screener.receiving.observe import Notebook, observe_photos
from screener.receiving.observe_references import with_references
from screener.receiving.observe_seen_before import with_seen_before
from screener.receiving.observe_signs import PersonSigns, observe_signs
from screener.receiving.photo_files import PhotoFile, fingerprint, photo_files, sha256_of
from screener.receiving.photos_before import PhotosBefore
from screener.receiving.progress import Progress, Silent
from screener.receiving.read_photos import read_photos
from screener.receiving.surroundings import price_of, serials_of, surroundings_of
from screener.records.model import ItemRecord, PhotoRef
from screener.records.order_purchases import keep_order_purchases
from screener.records.orders import OrderLine, read_order
from screener.records.result_json import item_as_json
from screener.screening.model import EARLIER, Item, Requirement, ScreenedItem, Trade
from screener.screening.screen import screen

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from screener.looking.reading import PhotoReading
    from screener.records.record import Record


@dataclass(frozen=True, slots=True)
class Delivery:
    """A delivery, screened."""

    run_id: int
    items: tuple[ScreenedItem, ...]
    record_ids: Mapping[str, int]
    """Number in the record, by item key."""
    unassigned: tuple[Unassigned, ...]
    unreadable: tuple[Unassigned, ...]
    """Photos that could not be opened, with the reason; they may also be assigned to a line by their folder."""
    order_problems: tuple[str, ...] = ()
    photos: Mapping[str, PhotoFile] = field(default_factory=dict)
    readings: Mapping[str, PhotoReading] = field(default_factory=dict)
    earlier: Mapping[str, Path] = field(default_factory=dict)
    """Photos of earlier deliveries that findings point at, by hash."""
    resumed: int = 0
    """How many items an earlier, interrupted attempt had finished."""


def receive(
    order_path: Path,
    photo_folder: Path,
    record: Record,
    *,
    progress: Progress | None = None,
    workers: int | None = None,
    today: dt.date | None = None,
) -> Delivery:
    """Screen a delivery and record each item as it is finished.

    A run that was cut off goes on where it stopped when it is started again with the same order and photos: readings
    and finished items are in the record.

    Raises
    ------
    InputUnreadable
        The order cannot be read, or there are no photos.
    """
    progress, today = progress or Silent(), today or dt.datetime.now(dt.UTC).astimezone().date()
    order = read_order(order_path)
    photos, not_photos = photo_files(photo_folder)
    resumed = record.start_or_resume(
        "receive",
        order_name=order_path.name,
        order_sha256=sha256_of(order_path),
        photos_fingerprint=fingerprint(photos),
        settings={"reader": READER_VERSION, "today": today.isoformat()},
    )
    keep_order_purchases(record, resumed.run.id, order.lines)
    progress.begin(len(photos), len(order.lines))
    readings = read_photos(photos, record, progress, workers=workers)
    requirements = {line.line: requirement_of(line) for line in order.lines}
    lines = [LineToFill(line, r.explained) for line, r in requirements.items()]
    assignment = assign([p.name for p in photos], lines, readings)
    by_name = {p.name: p for p in photos}
    items = with_references(items_of(assignment, requirements, readings), readings, by_name, record)
    before = PhotosBefore(record)
    before.ask({r.sha256: r.fingerprint for r in readings.values()})
    items = [with_seen_before(item, readings, before, resumed.run) for item in items]
    screened, ids = [], {}
    for item in items:
        done = screen(item, surroundings_of(item, items, record, resumed.run, today, before.pictures))
        ids[item.key] = keep_item(done, resumed.run.id, record, by_name)
        screened.append(done)
        progress.item_done(item.key, done.disposition.word)
    record.finish(resumed.run.id)
    return Delivery(
        run_id=resumed.run.id,
        items=tuple(screened),
        record_ids=ids,
        unassigned=(*assignment.unassigned, *(Unassigned(n, "not a photo file.") for n in not_photos)),
        unreadable=unreadable_of(readings),
        order_problems=order.problems,
        photos=by_name,
        readings=readings,
        earlier=_earlier(items, record),
        resumed=len(resumed.finished_items),
    )


def _earlier(items: Sequence[Item], record: Record) -> dict[str, Path]:
    seen = {o.source.photo_sha256 for item in items for o in item.observations if o.source.reader == EARLIER}
    return {sha: path for sha in sorted(seen) if (path := record.archive.find(sha)) is not None}


def requirement_of(line: OrderLine) -> Requirement:
    """An order line as the core needs it."""
    return Requirement(
        line=line.line,
        need=line.need_text,
        explained=explain(line.need_text),
        quantity=line.quantity,
        maker=line.maker,
        duty=line.duty,
        supplier=line.supplier,
        note=line.note,
        trade=trade_of(line),
        signs=line.signs,
    )


def trade_of(line: OrderLine) -> Trade:
    """What an order line says about how the part was bought."""
    return Trade(
        unit_price=None if line.unit_price is None else float(line.unit_price),
        currency=line.currency or "",
        seller_authorised=line.seller_authorised,
        seller_known_since=line.seller_known_since,
        chain_of_sale=line.chain_of_sale,
        papers=line.papers,
        lead_days=line.lead_days,
        usual_days=line.usual_days,
    )


def items_of(
    assignment: Assignment, requirements: Mapping[str, Requirement], readings: Mapping[str, PhotoReading]
) -> list[Item]:
    """Gather each item's observations from its photos."""
    items = []
    for key, names in assignment.items.items():
        notebook = Notebook()
        observe_photos((readings[n] for n in names), notebook)
        signs = requirements[line_of_item(key)].signs
        observe_signs(PersonSigns(signs, who="whoever wrote the order list"), notebook)
        items.append(Item(key, requirements[line_of_item(key)], tuple(notebook.observations), names))
    return items


def unreadable_of(readings: Mapping[str, PhotoReading]) -> tuple[Unassigned, ...]:
    """The photos that could not be opened, with what was wrong."""
    return tuple(
        Unassigned(name, " ".join(p.says for p in reading.problems))
        for name, reading in readings.items()
        if not reading.readable
    )


def keep_item(
    done: ScreenedItem,
    run_id: int,
    record: Record,
    photos: Mapping[str, PhotoFile],
) -> int:
    """Archive the item's photos, then record the item in one transaction."""
    mine = [photos[name] for name in done.item.photos]
    for photo in mine:
        if record.archive.keep(photo.path) != photo.sha256:
            raise InputUnreadable(
                "the photo was changed while it was being read.",
                where=photo.name,
                next_step="Run the same command again when nothing writes into the folder any more.",
                code="photo_changed",
            )
    return record.add_item(run_id, item_record(done, mine))


def item_record(done: ScreenedItem, photos: Sequence[PhotoFile]) -> ItemRecord:
    """The answer as the record keeps it."""
    requirement = done.item.requirement
    return ItemRecord(
        item_key=done.item.key,
        fingerprint=_fingerprint(done, photos),
        result=item_as_json(done),
        disposition=done.disposition.word,
        suspicion=done.suspicion.level,
        requirement=requirement.need,
        supplier=requirement.supplier or "",
        line=requirement.line,
        photos=tuple(PhotoRef(p.sha256, p.name) for p in photos),
        serials=serials_of(done.item),
        price=price_of(done.item),
    )


def _fingerprint(done: ScreenedItem, photos: Sequence[PhotoFile]) -> str:
    """A hash over what the answer was computed from."""
    requirement = done.item.requirement
    inputs = {
        "need": requirement.need,
        "duty": sorted(requirement.duty),
        "maker": requirement.maker,
        "quantity": requirement.quantity,
        "photos": [p.sha256 for p in photos],
        "readings": [asdict(o) for o in done.item.observations if o.source.channel in {"instrument", "person"}],
        "reader": READER_VERSION,
    }
    return hashlib.sha256(json.dumps(inputs, sort_keys=True, default=str).encode()).hexdigest()
