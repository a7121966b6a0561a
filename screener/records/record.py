"""The record: what was received, seen and decided. It only ever grows.

Each item is one transaction: after a crash it is there whole or not at all, and the next attempt of the same delivery
goes on after the last finished one.

    with Record.open() as record:
        resumed = record.start_or_resume("receive", order_name="order.csv", order_sha256=…, photos_fingerprint=…)
        for item in items:
            if item.key not in resumed.finished_items:
                record.add_item(resumed.run.id, ItemRecord(…))
        record.finish(resumed.run.id)
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal, Self, TypeVar

from sqlalchemy import Connection, Engine, insert, not_, select
from sqlalchemy.exc import IntegrityError

from screener.errors import ScreenerError, WrongUsage
from screener.records import photos_received, queries, versions
from screener.records.add_rows import add_item_rows, add_run, finished_keys, photo_values, run_values
from screener.records.archive import Archive
from screener.records.database import WRITES, connect_engine, take_turns
from screener.records.export import export_items
from screener.records.model import (
    Event,
    EventKind,
    ItemRecord,
    Resumed,
    Run,
    RunKind,
    SerialSighting,
    StoredItem,
    utc_now,
)
from screener.records.photos_received import KnownPrint, PhotoSighting
from screener.records.place import Place, find_place
from screener.records.plain_text import storable_json, storable_text
from screener.records.prices import prices_paid
from screener.records.purchases import Purchase, Shop, add_purchase, add_shop, purchase_of, shop_now
from screener.records.schema import bring_up_to_date
from screener.records.standing import standing_at, standings
from screener.records.tables import events, items, readings, runs
from screener.records.trouble import as_screener_error, speaking_plainly

T = TypeVar("T")
_PAGE = 500
_ATTEMPTS = 5


class Record:
    """An open record. Made by `Record.open`; usable from several threads."""

    def __init__(self, engine: Engine, place: Place) -> None:
        self._engine = engine
        self.place = place
        self.archive = Archive(place.photos)

    @classmethod
    def open(cls, target: str | Path | None = None, *, photos: Path | None = None) -> Self:
        """Open a record, making it or bringing it up to date where needed.

        Parameters
        ----------
        target
            A path or a SQLAlchemy URL; None asks ``SCREENER_RECORD``, then takes the user's data folder.
        photos
            Folder of the photo archive; None takes ``photos`` beside the database file.

        Raises
        ------
        ScreenerError
            The record is damaged, busy, newer than this version, or cannot be written to.
        WrongUsage
            The address cannot be understood or a driver is missing.
        """
        place = find_place(target, photos)
        engine = connect_engine(place)
        try:
            with speaking_plainly(place.says):
                bring_up_to_date(engine, place.says)
        except ScreenerError:
            engine.dispose()
            raise
        return cls(engine, place)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    # Runs

    def start_run(
        self,
        kind: RunKind,
        *,
        order_name: str = "",
        order_sha256: str = "",
        photos_fingerprint: str = "",
        settings: Mapping[str, Any] | None = None,
    ) -> Run:
        """Begin a run, even if an unfinished one with the same inputs exists."""
        values = run_values(kind, order_name, order_sha256, photos_fingerprint, settings)
        return self._write(lambda connection: add_run(connection, values))

    def start_or_resume(
        self,
        kind: RunKind,
        *,
        order_name: str = "",
        order_sha256: str = "",
        photos_fingerprint: str = "",
        settings: Mapping[str, Any] | None = None,
    ) -> Resumed:
        """Go on with the newest unfinished run of the same inputs, or begin one.

        The same inputs are the same kind, order, photos, settings and tool version; the order's name does not count.
        """
        values = run_values(kind, order_name, order_sha256, photos_fingerprint, settings)

        def resume_or_add(connection: Connection) -> Resumed:
            # Two stations that start the same delivery at once must find themselves in one run.
            take_turns(connection, int(values["inputs_sha256"][:15], 16))
            same = (runs.c.inputs_sha256 == values["inputs_sha256"]) & queries.is_unfinished()
            row = connection.execute(
                queries.select_runs().where(same).order_by(None).order_by(runs.c.id.desc())
            ).first()
            if row is None:
                return Resumed(run=add_run(connection, values))
            return Resumed(run=queries.run_of(row), finished_items=finished_keys(connection, row.id))

        return self._write(resume_or_add)

    def finished_items(self, run_id: int) -> frozenset[str]:
        """Return the keys of the items of a run that are recorded."""
        return self._read(lambda connection: finished_keys(connection, run_id))

    def finish(self, run_id: int, *, who: str = "") -> None:
        """Say that a run is complete. Saying it again adds nothing."""
        if not any(event.kind == "run_finished" for event in self.events(run_id=run_id)):
            self.add_event("run_finished", run_id=run_id, who=who)

    def runs(self) -> list[Run]:
        """Return every run, oldest first."""
        return self._read(lambda connection: [queries.run_of(row) for row in connection.execute(queries.select_runs())])

    def run(self, run_id: int) -> Run:
        """Return one run.

        Raises
        ------
        WrongUsage
            There is no such run.
        """
        mine = queries.select_runs().where(runs.c.id == run_id)
        row = self._read(lambda connection: connection.execute(mine).first())
        if row is None:
            raise WrongUsage(f"there is no run {run_id} in the record.", where=self.place.says, code="no_such_run")
        return queries.run_of(row)

    # Items

    def add_item(self, run_id: int, item: ItemRecord) -> int:
        """Record a finished item in one transaction and return its id.

        Its photos must be in the archive. Adding the same item again (same key and fingerprint) returns the id it has.

        Raises
        ------
        ScreenerError
            The run has another result under this key, a photo is not in the archive, or there is no such run.
        """
        photo_rows = self._kept_photos(item)
        return self._write(lambda connection: add_item_rows(connection, run_id, item, photo_rows))

    def add_version(self, run_id: int, item: ItemRecord, *, upto: int) -> int:
        """Record the answer for a line that may have been screened before; return the item's id.

        See `screener.records.versions`. ``upto`` is the newest event of the run that the answer knew.
        """
        photo_rows = self._kept_photos(item)

        def add(connection: Connection) -> int:
            return versions.add_version(
                connection, run_id, item, upto, lambda named: add_item_rows(connection, run_id, named, photo_rows)
            )

        return self._write(add)

    def _kept_photos(self, item: ItemRecord) -> list[dict[str, Any]]:
        kept = [(photo, self.archive.find(photo.sha256)) for photo in item.photos]
        missing = [photo.name for photo, path in kept if path is None]
        if missing:
            raise ScreenerError(
                f"photo {missing[0]} is not in the archive; it may have changed while it was read.",
                where=item.item_key,
                next_step="Start again: what was finished is kept.",
                code="photo_not_kept",
            )
        return [photo_values(photo.sha256, photo.name, path, self.place) for photo, path in kept if path]

    def items(
        self,
        *,
        run: int | None = None,
        disposition: str | None = None,
        supplier: str | None = None,
        since: str | None = None,
        history: bool = False,
        mentions: str | None = None,
    ) -> Iterator[StoredItem]:
        """Yield recorded items in the order recorded, a page at a time, so that a large record needs little memory.

        ``since`` is an ISO date or moment in UTC. Of a line screened again only the newest answer is given, with
        ``history`` all of them; with ``mentions`` only answers that hold this text (ASCII).
        `StoredItem.events` is empty here; `item` fills it.
        """
        conditions = queries.item_conditions(run, disposition, supplier, since)
        if not history:
            conditions.append(not_(queries.is_superseded()))
        if mentions is not None:
            conditions.append(queries.mentions(mentions))
        after = 0
        while page := self._read_page(conditions, after):
            yield from page
            after = page[-1].id

    def item(self, item_id: int) -> StoredItem:
        """Return one item with everything added to it since.

        Raises
        ------
        WrongUsage
            There is no such item.
        """

        def read(connection: Connection) -> StoredItem | None:
            found = queries.read_items(connection, [items.c.id == item_id], 0, 1)
            added = queries.read_events(connection, events.c.item_id == item_id)
            return replace(found[0], events=added) if found else None

        found = self._read(read)
        if found is None:
            raise WrongUsage(f"there is no item {item_id} in the record.", where=self.place.says, code="no_such_item")
        return found

    def tally(self) -> list[tuple[str, str, int, str]]:
        """Return (supplier, disposition, run, moment) of each item received whose answer counts; none only begun."""
        return self._read(queries.read_tally)

    def export(self, form: Literal["json", "csv"] = "json", **filters: Any) -> Iterator[str]:
        """Yield the text of an export piece by piece; ``filters`` are those of `items`.

        JSON is one array with an item a line; CSV is safe to open in a spreadsheet. ``disposition`` asks for what
        holds now: a person's word goes before the answer.
        """
        decided, disposition = standings(self), filters.pop("disposition", None)
        return export_items(standing_at(self.items(**filters), decided, disposition), form, decided)

    # Readings, serials, events

    def cached_reading(self, photo_sha256: str, reader_version: str) -> Any | None:
        """Return what this version of the reader saw in this photo, or None if it has not read it yet."""
        same = (readings.c.photo_sha256 == photo_sha256) & (readings.c.reader_version == reader_version)
        return self._read(lambda connection: connection.execute(select(readings.c.look).where(same)).scalar())

    def reader_versions(
        self, *, run: int | None = None, supplier: str | None = None, since: str | None = None
    ) -> dict[str, int]:
        """Return how many photos of items each version of the reader has read; the filters are those of `items`."""
        conditions = queries.item_conditions(run, None, supplier, since)
        return self._read(lambda connection: queries.reader_versions(connection, conditions))

    def photos_read(self, photos: Collection[str], reader_version: str) -> set[str]:
        """Return which of these photos (by hash) this version of the reader has read."""
        return self._read(lambda connection: queries.read_by(connection, photos, reader_version))

    def cached_looks(self, photos: Collection[str], reader_version: str) -> dict[str, Any]:
        """Return the kept readings of many photos at once, by hash; a photo not read by this version is absent."""
        return self._read(lambda connection: queries.read_looks(connection, photos, reader_version))

    def cache_reading(self, photo_sha256: str, reader_version: str, look: Any) -> None:
        """Keep what a reader saw. The first reading of a version stays; a later one is let go."""
        if self.cached_reading(photo_sha256, reader_version) is not None:
            return
        values = {
            "photo_sha256": photo_sha256,
            "reader_version": reader_version,
            "look": storable_json(look),
            "read_at": utc_now(),
        }
        try:
            with speaking_plainly(self.place.says), self._writing() as connection:
                connection.execute(insert(readings).values(values))
        except IntegrityError:
            # Another program has read the same photo in the meantime.
            return

    def serials_seen(
        self, wanted: Iterable[str], *, except_run: int | None = None, except_photos: Collection[str] = ()
    ) -> list[SerialSighting]:
        """Return where serial numbers were received before.

        Parameters
        ----------
        wanted
            Serial numbers as read.
        except_run
            The run at work, whose own items are no repetition.
        except_photos
            Hashes of the photos now looked at: an item with one of them is the same thing screened again.
        """

        def read(connection: Connection) -> list[SerialSighting]:
            chunks = queries.in_chunks(storable_text(serial) for serial in wanted)
            return [
                sighting
                for chunk in chunks
                for sighting in queries.read_sightings(connection, chunk, except_run, except_photos)
            ]

        return self._read(read)

    def photos_received(self, after_item: int, *, at_most: int) -> tuple[int, list[str]]:
        """Return the newest item, and the photos (by hash) of received items after a given one, each once.

        Of more than about ``at_most`` photos the newest are given.
        """

        def read(connection: Connection) -> tuple[int, list[str]]:
            last = photos_received.last_item(connection)
            after = max(after_item, photos_received.newest_items(connection, at_most))
            return last, photos_received.photos_received(connection, after)

        return self._read(read)

    def prints(self, photos: Collection[str]) -> dict[str, KnownPrint]:
        """Return what the pictures of photos are known again by, by hash, whatever version of the reader read them."""
        return self._read(lambda connection: photos_received.read_prints(connection, photos))

    def references_among(self, photos: Collection[str]) -> set[str]:
        """Return which of these photos (by hash) the shop keeps, or kept, as references."""
        return self._read(lambda connection: photos_received.references_among(connection, photos))

    def photos_seen(self, photos: Collection[str], *, except_run: int) -> list[PhotoSighting]:
        """Return where photos were received in other runs; see `screener.records.photos_received`."""
        return self._read(lambda connection: photos_received.photo_sightings(connection, photos, except_run))

    def prices_paid(self, part: str, currency: str, *, except_run: int | None = None) -> tuple[float, ...]:
        """Return the newest unit prices paid for a part in one currency."""
        return self._read(lambda connection: prices_paid(connection, part, currency, except_run))

    def keep_purchase(self, run_id: int, purchase: Purchase, *, line: str = "", who: str = "") -> None:
        """Keep what is known of a run's purchase, of all lines where ``line`` is empty. Nothing known adds nothing.

        Raises
        ------
        WrongUsage
            There is no such run, or a field is too long.
        """
        if purchase:
            self._write(lambda connection: add_purchase(connection, run_id, line, purchase, who))

    def purchase(self, run_id: int, line: str = "") -> Purchase:
        """Return what is known of the purchase of a line; see `screener.records.purchases`."""
        return self._read(lambda connection: purchase_of(connection, run_id, line))

    def keep_shop(self, shop: Shop, *, who: str = "") -> None:
        """Keep who sends the reports from now on.

        Raises
        ------
        WrongUsage
            The shop has no name, or a field is too long.
        """
        self._write(lambda connection: add_shop(connection, shop, who))

    def shop(self) -> Shop:
        """Return who sends the reports; empty if nobody has said."""
        return self._read(shop_now)

    def add_event(
        self,
        kind: EventKind,
        *,
        run_id: int | None = None,
        item_id: int | None = None,
        who: str = "",
        why: str = "",
        data: Mapping[str, Any] | None = None,
    ) -> int:
        """Add a correction, release, outcome or note to a run or an item; return its id.

        Raises
        ------
        WrongUsage
            Neither a run nor an item is named, or a release or correction lacks who or why.
        """
        if run_id is None and item_id is None:
            raise WrongUsage("an event belongs to a run or to an item.", code="event_without_subject")
        if kind in {"correction", "hold", "release"} and not (who.strip() and why.strip()):
            raise WrongUsage(f"a {kind} needs the name of a person and a reason.", code="event_without_reason")
        values = {
            "run_id": run_id,
            "item_id": item_id,
            "kind": kind,
            "at": utc_now(),
            "who": storable_text(who),
            "why": storable_text(why),
            "data": storable_json(data or {}),
        }
        return self._write(lambda connection: versions.add_event(connection, values))

    def events_after(
        self, event_id: int, *, kinds: Collection[str] = (), run_id: int | None = None, at_most: int = 1000
    ) -> tuple[Event, ...]:
        """Return what was added to any run or item after an event, in the order added: what a reader has missed."""
        return self._read(lambda connection: versions.events_after(connection, event_id, kinds, run_id, at_most))

    def last_event(self) -> int:
        """Return the id of the newest event, 0 for none."""
        return self._read(versions.last_event)

    def events(
        self, *, run_id: int | None = None, item_id: int | None = None, item_ids: Collection[int] = ()
    ) -> tuple[Event, ...]:
        """Return what was added to a run, an item or several items, in the order added."""
        of_items = events.c.item_id.in_([*item_ids, *([] if item_id is None else [item_id])])
        condition = events.c.run_id == run_id if run_id is not None else of_items
        return self._read(lambda connection: queries.read_events(connection, condition))

    # The database

    def _writing(self) -> Any:
        return self._engine.execution_options(**WRITES).begin()

    def _read(self, work: Callable[[Connection], T]) -> T:
        with speaking_plainly(self.place.says), self._engine.connect() as connection:
            return work(connection)

    def _read_page(self, conditions: list[Any], after: int) -> list[StoredItem]:
        return self._read(lambda connection: queries.read_items(connection, conditions, after, _PAGE))

    def _write(self, work: Callable[[Connection], T]) -> T:
        """Do ``work`` in one transaction; again if another writer has just added the same row (a photo, an item)."""
        for attempt in range(1, _ATTEMPTS + 1):
            try:
                with speaking_plainly(self.place.says), self._writing() as connection:
                    return work(connection)
            except IntegrityError as error:
                if attempt == _ATTEMPTS or "foreign key" in str(error.orig).lower():
                    raise _conflict(error, self.place.says) from error
        raise AssertionError("the loop returns or raises")


def _conflict(error: IntegrityError, where: str) -> ScreenerError:
    if "foreign key" in str(error.orig).lower():
        return WrongUsage("there is no such run or item in the record.", where=where, code="no_such_run")
    return as_screener_error(error, where)
