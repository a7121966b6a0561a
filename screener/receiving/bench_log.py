"""The events of a run, line by line: what was given for each line, and how far it has come."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from screener.receiving.bench_model import BenchPhoto, Correction, HandReading, Wanted, Withdrawn, known_shows
from screener.receiving.observe import face_of_photo

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.receiving.bench_model import LineState, Shows
    from screener.records.model import Event, StoredItem

GIVEN = frozenset({"photo", "photo_withdrawn", "scan", "reading", "correction"})
"""Kinds of events that an answer has to know."""
_WANTED: tuple[tuple[Literal["box", "face1", "face2"], str], ...] = (
    ("box", "The box, label square on."),
    ("face1", "One face of the part, with the scale card beside it."),
    ("face2", "The other face of the part."),
)
_CARD = "The scale card beside the part in one of the photos."
_BY_NAME: Mapping[str, Shows] = {"first": "face1", "second": "face2", "unknown": "other"}


@dataclass(slots=True)
class LineLog:
    """Everything given for one line so far."""

    given: dict[str, tuple[str, Shows]] = field(default_factory=dict)
    """Name and what it shows, by the photo's hash."""
    read: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    scans: list[str] = field(default_factory=list)
    readings: list[HandReading] = field(default_factory=list)
    corrections: list[Correction] = field(default_factory=list)
    withdrawn: list[Withdrawn] = field(default_factory=list)
    last_given: int = 0
    answered_upto: int = 0

    @property
    def unread(self) -> tuple[str, ...]:
        """Hashes of the photos that are still to be read."""
        return tuple(sha256 for sha256 in self.given if sha256 not in self.read)

    @property
    def due(self) -> bool:
        """Whether all photos are read and the answer does not know everything that was given."""
        return self.last_given > self.answered_upto and not self.unread

    @property
    def only_codes(self) -> bool:
        """Whether codes were given and nothing else."""
        return bool(self.scans) and not self.given and not self.readings

    def has_reading(self, reading: HandReading) -> bool:
        """Whether this very reading was given before; without a word of its own each one is another."""
        return bool(reading.once) and reading in self.readings

    @property
    def state(self) -> LineState:
        """How far the line has come."""
        if self.last_given > self.answered_upto:
            return "reading"
        return "answered" if self.answered_upto or self.given else "waiting"

    @property
    def photos(self) -> tuple[BenchPhoto, ...]:
        """The photos given, under names that are unique within the line."""
        names: dict[str, int] = {}
        photos = []
        for sha256, (name, shows) in self.given.items():
            names[name] = count = names.get(name, 0) + 1
            photos.append(_photo(sha256, name if count == 1 else f"{name} ({count})", shows, self.read.get(sha256)))
        return tuple(photos)

    @property
    def wanted(self) -> tuple[Wanted, ...]:
        """The photos that are asked for, and whether they are there."""
        shown = {photo.shows for photo in self.photos if photo.state != "unreadable"}
        card = any(photo.card for photo in self.photos)
        return (*(Wanted(shows, says, shows in shown) for shows, says in _WANTED), Wanted("card", _CARD, card))


def line_logs(events: Iterable[Event]) -> dict[str, LineLog]:
    """Return what the events of one run say about each line, by the line's name."""
    logs: dict[str, LineLog] = {}
    for event in events:
        line = event.data.get("line")
        if isinstance(line, str):
            _take(logs.setdefault(line, LineLog()), event)
    return logs


def log_of_item(item: StoredItem) -> LineLog:
    """What an answer that was not made on the bench was made from: its photos, all read."""
    log = LineLog()
    for photo in item.photos:
        log.given[photo.sha256] = (photo.name, _BY_NAME[face_of_photo(photo.name)])
        log.read[photo.sha256] = {"readable": True}
    return log


def _take(log: LineLog, event: Event) -> None:
    data = event.data
    if event.kind in GIVEN:
        log.last_given = event.id
    if event.kind == "photo":
        log.given[data["sha256"]] = (data["name"], known_shows(data["shows"]))
    elif event.kind == "photo_withdrawn":
        log.withdrawn += [Withdrawn(each, event.who) for each in log.photos if each.sha256 == data["sha256"]]
        log.given.pop(data["sha256"], None)
    elif event.kind == "photo_read":
        log.read[data["sha256"]] = data
    elif event.kind == "scan":
        log.scans.append(data["text"])
    elif event.kind == "reading":
        if not log.has_reading(reading := _reading(event)):
            log.readings.append(reading)
    elif event.kind == "correction":
        log.corrections.append(_correction(event))
    elif event.kind == "screened":
        log.answered_upto = max(log.answered_upto, data["upto"])


def _photo(sha256: str, name: str, shows: Shows, read: Mapping[str, Any] | None) -> BenchPhoto:
    if read is None:
        return BenchPhoto(sha256, name, shows, "reading")
    state = "read" if read.get("readable") else "unreadable"
    return BenchPhoto(
        sha256, name, shows, "read" if state == "read" else "unreadable", read.get("says", ""), read.get("card")
    )


def _reading(event: Event) -> HandReading:
    data = event.data
    return HandReading(
        what=data["what"],
        value=data["value"],
        instrument=data["instrument"],
        who=event.who,
        temperature_c=data.get("temperature_c"),
        face=data.get("face", "unknown"),
        once=data.get("once", ""),
    )


def _correction(event: Event) -> Correction:
    data = event.data
    return Correction(
        attribute=data["attribute"],
        was=data.get("was"),
        value=data.get("value"),
        channel=data.get("channel", ""),
        photo_sha256=data.get("photo_sha256", ""),
        who=event.who,
        why=event.why,
        at=event.at,
    )
