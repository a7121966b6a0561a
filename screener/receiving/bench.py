"""The bench: a delivery worked through line by line, by several people at once, with nothing lost in between.

Everything that is given – an order, a photo, a scan, a reading, a correction – is an event of the delivery's run in the
record before the call returns. An answer is made from those events and the readings of the photos, and recorded as a
new item of the line; the newest counts, the older ones stay (`screener.records.versions`). So a bench holds no state
of its own but an index of the record's photos, which follows the record: two benches on one record see each other's
work, and one that was killed goes on.

    bench = Bench(record)
    run = bench.open_delivery("order.csv", order_bytes)
    receipt = bench.add_photo(run, "3", "IMG_1.jpg", jpeg, "face1")
    for job in bench.unread(run):
        bench.read_photo(job)
    bench.screen_line(run, "3")
    bench.delivery(run).lines
"""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from screener.errors import InputUnreadable, ScreenerError, WrongUsage
from screener.looking.look import READER_VERSION, look
from screener.looking.reading import PhotoReading, as_json, from_json
from screener.receiving import bench_screening as screening
from screener.receiving.bench_lists import find_lines, held_items, supplier_summaries
from screener.receiving.bench_log import GIVEN, LineLog
from screener.receiving.bench_model import (
    BenchDelivery,
    BenchLine,
    DeliverySummary,
    FoundLine,
    HandReading,
    HeldItem,
    PhotoJob,
    PhotoReceipt,
    SupplierSummary,
    known_shows,
)
from screener.receiving.bench_run import BenchRun, load_run
from screener.receiving.delivery import requirement_of
from screener.receiving.observe_references import with_references
from screener.receiving.observe_seen_before import with_seen_before
from screener.receiving.photo_files import PhotoFile
from screener.receiving.photos_before import PhotosBefore
from screener.receiving.reading_slips import refuse_slips_beside
from screener.receiving.surroundings import surroundings_of
from screener.records.decisions import decide, newer_answer
from screener.records.order_purchases import keep_order_purchases
from screener.records.orders import Order, OrderLine, read_order
from screener.records.result_json import requirement_as_json
from screener.screening.screen import screen
from screener.vision.model import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from screener.receiving.bench_model import Answer, BenchPhoto
    from screener.receiving.observe_references import Compare
    from screener.records.decisions import Decision
    from screener.records.record import Record

BENCH = {"bench": True}
"""Settings of a run that is worked through on the bench: the same order opened again finds its unfinished run."""
MOST_PHOTOS = 24
"""Photos of one line; more are a mistake."""
LATELY = 5_000
"""Events looked back on for work that was cut off."""
STOPPED = "reader_stopped"
"""Problem of a photo that was given up: its reader died or took too long."""
LONGEST_TEXT = 500
LONGEST_SCAN = 4000


class Bench:
    """All that the stations do, on one record. Usable from several threads.

    Parameters
    ----------
    record
        Open.
    compare
        Lays a photo beside references of the record; by default in this process.
    """

    def __init__(self, record: Record, compare: Compare | None = None) -> None:
        self.record = record
        self._compare = compare
        self.photos_before = PhotosBefore(record)

    # Deliveries

    def open_delivery(self, name: str, order: bytes) -> int:
        """Begin a delivery from an order file, or go on with the unfinished one of the same order; return its run.

        Raises
        ------
        InputUnreadable
            The order cannot be read.
        """
        return self.open_order(name, order_of_bytes(name, order))

    def open_order(self, name: str, order: Order) -> int:
        """Begin or go on with a delivery whose order is read already; see `open_delivery`."""
        shown = file_name(name)
        resumed = self.record.start_or_resume("receive", order_name=shown, order_sha256=order.sha256, settings=BENCH)
        run_id = resumed.run.id
        if not any(event.kind == "order" for event in self.record.events(run_id=run_id)):
            lines = [requirement_as_json(requirement_of(line)) for line in order.lines]
            data = {"lines": lines, "problems": list(order.problems), "sha256": order.sha256}
            self.record.add_event("order", run_id=run_id, data=data)
        keep_order_purchases(self.record, run_id, order.lines)
        return run_id

    def open_part(self, need: str, duty: frozenset[str] = frozenset(), maker: str | None = None) -> int:
        """Begin a single part for the mechanic and return its run; the part is line ``1`` of it.

        Raises
        ------
        WrongUsage
            Nothing is said about what is needed.
        """
        text = _text(need, "need")
        run = self.record.start_run("verify", order_name=text, settings=BENCH)
        line = OrderLine(line="1", need_text=text, duty=duty, maker=maker or None)
        self.record.add_event("order", run_id=run.id, data={"lines": [requirement_as_json(requirement_of(line))]})
        return run.id

    def finish(self, run_id: int, who: str = "") -> None:
        """Say that a delivery is worked through. The same order opened later begins a new delivery."""
        self.record.finish(load_run(self.record, run_id).run.id, who=who)

    def deliveries(self, at_most: int = 200) -> tuple[DeliverySummary, ...]:
        """Return deliveries and single parts, newest first."""
        return tuple(self._summary(run.id) for run in reversed(self.record.runs()[-at_most:]))

    def _summary(self, run_id: int) -> DeliverySummary:
        loaded = load_run(self.record, run_id, answers=False)
        run, keys = loaded.run, loaded.keys
        answered = sum(loaded.log(key).state == "answered" for key in keys)
        if any(loaded.log(key).only_codes for key in keys):
            # Only its answer tells whether a code alone was a finding.
            lines = load_run(self.record, run_id)
            answered = sum(lines.line(key).judged for key in keys)
        return DeliverySummary(run_id, run.kind, run.order_name, run.started_at, run.finished_at, len(keys), answered)

    def delivery(self, run_id: int) -> BenchDelivery:
        """Return a delivery with its lines as they stand now.

        Raises
        ------
        WrongUsage
            There is no such delivery.
        """
        loaded = load_run(self.record, run_id)
        run = loaded.run
        return BenchDelivery(
            run_id=run.id,
            kind=run.kind,
            order_name=run.order_name,
            started_at=run.started_at,
            finished_at=run.finished_at,
            lines=tuple(loaded.line(key) for key in loaded.keys),
            order_problems=loaded.problems,
            last_event=loaded.last_event,
        )

    def line(self, run_id: int, line: str) -> BenchLine:
        """Return one line as it stands now.

        Raises
        ------
        WrongUsage
            There is no such line.
        """
        return load_run(self.record, run_id).line(line)

    def line_is_known(self, run_id: int, line: str) -> None:
        """Refuse a line that the delivery does not have.

        Raises
        ------
        WrongUsage
            There is no such delivery or line.
        """
        load_run(self.record, run_id, answers=False).known(line)

    # What is given

    def add_photo(self, run_id: int, line: str, name: str, content: bytes | Path, shows: str) -> PhotoReceipt:
        """Keep a photo for a line. The same photo given again for it adds nothing.

        Parameters
        ----------
        run_id, line
            Where it belongs.
        name
            What the camera or person called it; for showing only.
        content
            The bytes of the file, or where they lie.
        shows
            ``box``, ``face1``, ``face2`` or ``other``.

        Raises
        ------
        WrongUsage
            There is no such line, or it has too many photos.
        """
        loaded, said = load_run(self.record, run_id, answers=False), known_shows(shows)
        log = loaded.known(line)
        sha256 = self.record.archive.keep(content)
        read = self.remembered(sha256)
        if sha256 in log.given and log.given[sha256][1] == said:
            return PhotoReceipt(sha256, new=False, read=read is not None)
        if sha256 not in log.given and len(log.given) >= MOST_PHOTOS:
            raise WrongUsage(
                f"this line has {MOST_PHOTOS} photos already.",
                where=f"line {line}",
                next_step="Take away those that are not needed.",
                code="too_many_photos",
            )
        self._given("photo", run_id, line, {"sha256": sha256, "name": file_name(name), "shows": said})
        if read is not None:
            self._note_read(run_id, line, sha256, read)
        return PhotoReceipt(sha256, new=sha256 not in log.given, read=read is not None)

    def withdraw_photo(self, run_id: int, line: str, sha256: str, who: str, why: str) -> None:
        """Take a photo away from a line it does not belong to; it stays in the record."""
        log = load_run(self.record, run_id, answers=False).known(line)
        if sha256 not in log.given:
            raise WrongUsage("this line has no such photo.", where=f"line {line}", code="no_such_photo")
        self._given("photo_withdrawn", run_id, line, {"sha256": sha256}, who=_text(who, "who"), why=why)

    def add_scan(self, run_id: int, line: str, text: str) -> None:
        """Add what a handheld scanner typed; the same text twice counts once."""
        log = load_run(self.record, run_id, answers=False).known(line)
        said = _text(text, "scan", LONGEST_SCAN)
        if said not in log.scans:
            self._given("scan", run_id, line, {"text": said})

    def add_reading(self, run_id: int, line: str, reading: HandReading) -> None:
        """Add one reading; as `add_readings`."""
        self.add_readings(run_id, line, (reading,))

    def add_readings(self, run_id: int, line: str, readings: Sequence[HandReading]) -> None:
        """Add numbers read off an instrument, or what a person saw (instrument ``eye``): all of them or none.

        Raises
        ------
        WrongUsage
            An instrument is not known, a value makes no sense, or one is plainly a slip: in another unit, the point
            slipped, two dimensions exchanged.
        """
        run = load_run(self.record, run_id, answers=False)
        log = run.known(line)
        new = [each for each in screening.checked_readings(readings) if not log.has_reading(each)]
        refuse_slips_beside(run.requirement(line).explained, screening.lengths_and_masses(new))
        for reading in new:
            data = {
                "what": reading.what,
                "value": reading.value,
                "instrument": reading.instrument,
                "temperature_c": reading.temperature_c,
                "face": reading.face,
                "once": reading.once,
            }
            self._given("reading", run_id, line, data, who=reading.who)

    def correct(
        self,
        run_id: int,
        line: str,
        key: str,
        value: str | float | None,
        who: str,
        why: str = "misread",
        item_id: int | None = None,
    ) -> None:
        """Record that an observation of the newest answer was misread, and what stands there.

        Parameters
        ----------
        run_id, line
            Where.
        key
            Of the observation, as the newest answer numbers it (``o3``).
        value
            What it really says; None if there is nothing of the kind.
        who, why
            The person and the reason; both are kept.
        item_id
            The answer that the person had before them; a newer one may number its observations otherwise.

        Raises
        ------
        WrongUsage
            There is no such observation, it cannot have this value, nobody is named, or there is a newer answer.
        """
        answer = self.line(run_id, line).answer
        if answer is not None and item_id not in {None, answer.item_id}:
            raise newer_answer(f"line {line}")
        seen = next((each for each in answer.observed if each.key == key), None) if answer else None
        if seen is None:
            raise WrongUsage("there is no such reading to correct.", where=f"line {line}", code="no_such_observation")
        data = {
            "attribute": seen.attribute,
            "was": seen.value,
            "value": None if value is None else screening.checked_value(seen.attribute, value),
            "channel": seen.channel,
            "photo_sha256": seen.photo_sha256,
        }
        self._given("correction", run_id, line, data, who=_text(who, "who"), why=why.strip() or "misread")

    def _given(self, kind: Any, run_id: int, line: str, data: dict[str, Any], who: str = "", why: str = "") -> None:
        self.record.add_event(kind, run_id=run_id, who=who, why=why, data={"line": line, **data})

    # Decisions of people

    def hold(self, item_id: int, who: str, why: str) -> None:
        """Keep an item back, whatever its answer says, until a person releases it."""
        self._decide("hold", item_id, who, why)

    def release(self, item_id: int, who: str, why: str) -> None:
        """Let an item go, on a person's word. A later answer for the line needs a release of its own."""
        self._decide("release", item_id, who, why)

    def _decide(self, kind: Decision, item_id: int, who: str, why: str) -> None:
        decide(self.record, kind, item_id, _text(who, "who"), _text(why, "why"))

    # Reading and screening

    def unread(self, run_id: int | None = None) -> tuple[PhotoJob, ...]:
        """Return the photos that are still to be read: of one delivery, or of all that were worked on lately."""
        return tuple(
            PhotoJob(each, line, sha256)
            for each in ([run_id] if run_id is not None else self._lately())
            for line, log in load_run(self.record, each, answers=False).logs.items()
            for sha256 in log.unread
        )

    def due(self) -> tuple[tuple[int, str], ...]:
        """Return the lines that were worked on lately, whose photos are read and whose answer does not know all."""
        return tuple(
            (run_id, line)
            for run_id in self._lately()
            for line, log in load_run(self.record, run_id, answers=False).logs.items()
            if log.due
        )

    def _lately(self) -> list[int]:
        since = self.record.last_event() - LATELY
        given = self.record.events_after(since, kinds=GIVEN, at_most=LATELY)
        return sorted({event.run_id for event in given if event.run_id is not None})

    def remembered(self, sha256: str) -> PhotoReading | None:
        """Return what this version of the reader saw in a photo, if it has read it."""
        document = self.record.cached_reading(sha256, READER_VERSION)
        return None if document is None else from_json(document)

    def read_photo(self, job: PhotoJob, reader: Callable[[Path], PhotoReading] = look) -> None:
        """Read one photo in this process and record it; a server has it read elsewhere and calls `photo_was_read`."""
        path = self.record.archive.find(job.sha256)
        if path is None:
            raise ScreenerError("a photo is not in the archive.", where=job.sha256, code="photo_not_kept")
        self.photo_was_read(job, self.remembered(job.sha256) or reader(path))

    def photo_was_read(self, job: PhotoJob, reading: PhotoReading) -> None:
        """Record what was read in a photo. A reader that stopped is told here only; the next one may do better."""
        plain = reading.named(job.sha256)
        if not any(problem.code == STOPPED for problem in reading.problems):
            self.record.cache_reading(job.sha256, READER_VERSION, as_json(plain))
        self._note_read(job.run_id, job.line, job.sha256, plain)

    def _note_read(self, run_id: int, line: str, sha256: str, reading: PhotoReading) -> None:
        data = {
            "line": line,
            "sha256": sha256,
            "readable": reading.readable,
            "says": " ".join(problem.says for problem in reading.problems),
            "card": reading.scale is not None,
        }
        self.record.add_event("photo_read", run_id=run_id, data=data)

    def missing(self, run_id: int, line: str) -> tuple[PhotoJob, ...]:
        """Return the photos of a line that have to be read before it can be answered."""
        log = load_run(self.record, run_id, answers=False).known(line)
        return tuple(PhotoJob(run_id, line, sha256) for sha256 in self._missing(log))

    def _missing(self, log: LineLog) -> list[str]:
        """Also those that only an older version of the reader has read."""
        known = {sha256 for sha256, read in log.read.items() if not read.get("readable")}
        return [sha256 for sha256 in log.given if sha256 not in known and self.remembered(sha256) is None]

    def screen_line(self, run_id: int, line: str, today: dt.date | None = None) -> Answer | None:
        """Make and record the answer for a line from everything given; None while a photo of it is still to be read.

        Lines that share a serial number or a photo with it are answered anew as well: each matters to the other.
        """
        today = today or dt.datetime.now(dt.UTC).astimezone().date()
        loaded = load_run(self.record, run_id)
        log = loaded.known(line)
        if self._missing(log):
            return None
        before = loaded.item(line)
        after = self._screen(loaded, line, log, today)
        ties = (*(before.observations if before else ()), *after)
        for other in loaded.answered:
            neighbour = loaded.item(other)
            if other != line and neighbour and screening.same_unit_or_photo(ties, neighbour.observations):
                renewed = load_run(self.record, run_id)
                self._screen(renewed, other, renewed.log(other), today)
        return self.line(run_id, line).answer

    def _screen(self, loaded: BenchRun, line: str, log: LineLog, today: dt.date) -> tuple[Any, ...]:
        readings = {photo.sha256: self._reading(photo) for photo in log.photos}
        files = [PhotoFile(p.name, self.record.archive.find(p.sha256) or Path(p.name), p.sha256) for p in log.photos]
        plain = screening.item_of(line, loaded.requirement(line), log, readings, today)
        named = {photo.name: readings[photo.sha256].named(photo.name) for photo in log.photos}
        (beside,) = with_references([plain], named, {file.name: file for file in files}, self.record, self._compare)
        others = [each for key in loaded.answered if key != line and (each := loaded.item(key)) is not None]
        known = self.photos_before
        known.ask({sha256: reading.fingerprint for sha256, reading in readings.items()}, others)
        item = with_seen_before(beside, named, known, loaded.run)
        around = surroundings_of(item, [item, *others], self.record, loaded.run, today, known.pictures)
        answer = screening.versioned_record(screen(item, around), files, around)
        self.record.add_version(loaded.run.id, answer, upto=log.last_given)
        return item.observations

    def _reading(self, photo: BenchPhoto) -> PhotoReading:
        stopped = PhotoReading(photo.name, photo.sha256, problems=(Problem(STOPPED, photo.says),), readable=False)
        return self.remembered(photo.sha256) or stopped

    # Lists

    def find_line(self, text: str) -> tuple[FoundLine, ...]:
        """Return the lines of unfinished deliveries that a scanned code may belong to, most likely first."""
        return find_lines(self.record, _text(text, "scan", LONGEST_SCAN))

    def held(self) -> tuple[HeldItem, ...]:
        """Return the items that are kept back now, by their answer or by a person, newest first."""
        return held_items(self.record)

    def suppliers(self) -> tuple[SupplierSummary, ...]:
        """Return what was received from each supplier, by name."""
        return supplier_summaries(self.record)


def order_of_bytes(name: str, order: bytes) -> Order:
    """Read an order file given as bytes; its name only says what kind of file it is.

    Raises
    ------
    InputUnreadable
        It cannot be read.
    """
    suffix = PurePosixPath(file_name(name)).suffix.lower()
    safe = suffix if suffix.removeprefix(".").isalnum() and len(suffix) < 8 else ""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"order{safe}"
        path.write_bytes(order)
        try:
            return read_order(path)
        except InputUnreadable as error:
            shown = file_name(name)
            raise InputUnreadable(error.says, where=shown, next_step=error.next_step, code=error.code) from error


def file_name(name: str) -> str:
    """Return a name for showing: the last part of whatever path was given, never used as a path here."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1].strip()
    printable = "".join(letter for letter in last if letter.isprintable())
    return printable[:120] or "photo"


def _text(text: str, what: str, longest: int = LONGEST_TEXT) -> str:
    # Not strip(): to Python the group separator of a scanned code is white space.
    clean = text.strip("\r\n\t ")
    if not 0 < len(clean) <= longest:
        raise WrongUsage(f"give 1 to {longest} characters.", where=what, code="text_length")
    return clean
