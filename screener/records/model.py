"""What the record holds, as values: runs, items, sightings of serials, events.

Times are ISO 8601 texts in UTC with microseconds (``2026-03-12T08:15:00.000000Z``): they sort as text and read the
same from every database.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

RunKind = Literal["receive", "verify"]
EventKind = Literal[
    "run_finished",
    "correction",
    "hold",
    "release",
    "outcome",
    "note",
    "order",
    "photo",
    "photo_withdrawn",
    "photo_read",
    "scan",
    "reading",
    "screened",
    "superseded",
    "lot",
]
"""``correction``: a person says that something was misread. ``hold`` and ``release``: a person keeps an item back or
lets it go. ``outcome``: what it turned out to be. A later event never replaces an earlier one.

What the bench adds to a run while a delivery is worked through: ``order`` (its lines), ``photo``, ``photo_withdrawn``,
``photo_read``, ``scan``, ``reading``; their ``data`` names the line. ``screened``: an answer was recorded, up to which
event it knew; ``superseded``: a newer answer for the same line counts instead of this item.

``lot``: an audit's answer by a sampling plan, kept for the supplier's next lot (`screener.records.kept_lots`)."""


def utc_now() -> str:
    """Return the present moment as the record writes it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def day_says(moment: str) -> str:
    """Return the day of a moment for a person: ``12 March 2026``."""
    day = datetime.fromisoformat(moment)
    return f"{day.day} {day:%B %Y}"


@dataclass(frozen=True, slots=True)
class PhotoRef:
    """A photo of an item: what it is (hash of its bytes) and what the user called it."""

    sha256: str
    name: str


@dataclass(frozen=True, slots=True)
class SerialRef:
    """A serial number as read, with what it is unique in: a GTIN or a maker's word; empty if neither was read."""

    serial: str
    scope: str = ""


@dataclass(frozen=True, slots=True)
class PriceRef:
    """What was paid for one piece of a part (`screener.screening.checks.commercial.part_key`)."""

    part: str
    currency: str
    unit_price: float


@dataclass(frozen=True, slots=True)
class ItemRecord:
    """One finished item, ready to be kept.

    ``result`` is the JSON form of the whole answer (`screener.records.result_json.item_as_json`); the other fields
    repeat what is asked for often, so that it can be searched.
    """

    item_key: str
    fingerprint: str
    """Stands for everything the answer was computed from; the same inputs give the same text."""
    result: Mapping[str, Any]
    disposition: str
    suspicion: str
    requirement: str = ""
    supplier: str = ""
    line: str = ""
    photos: tuple[PhotoRef, ...] = ()
    serials: tuple[SerialRef, ...] = ()
    price: PriceRef | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """One delivery received, or one part verified."""

    id: int
    kind: RunKind
    started_at: str
    order_name: str
    order_sha256: str
    settings: Mapping[str, Any]
    tool_version: str
    finished_at: str | None = None
    item_count: int = 0


@dataclass(frozen=True, slots=True)
class Resumed:
    """A run to work on, with the keys of the items that an earlier, interrupted attempt has already finished."""

    run: Run
    finished_items: frozenset[str] = frozenset()

    @property
    def is_new(self) -> bool:
        """Whether nothing had been finished before."""
        return not self.finished_items


@dataclass(frozen=True, slots=True)
class Event:
    """Something a person or the tool added later."""

    id: int
    kind: str
    at: str
    who: str
    why: str
    run_id: int | None = None
    item_id: int | None = None
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StoredItem:
    """An item as the record holds it. ``events`` is filled by `Record.item` only."""

    id: int
    run_id: int
    item_key: str
    recorded_at: str
    fingerprint: str
    result: Mapping[str, Any]
    disposition: str
    suspicion: str
    requirement: str
    supplier: str
    line: str
    photos: tuple[PhotoRef, ...] = ()
    events: tuple[Event, ...] = ()


@dataclass(frozen=True, slots=True)
class SerialSighting:
    """Where and when a serial number was received before."""

    serial: str
    scope: str
    item_id: int
    item_key: str
    run_id: int
    recorded_at: str
    supplier: str
    order_name: str

    @property
    def says(self) -> str:
        """Where it was seen, for a person: ``12 March 2026, item 4 of order-77.csv (record 18)``."""
        order = f" of {self.order_name}" if self.order_name else ""
        return f"{day_says(self.recorded_at)}, item {self.item_key}{order} (record {self.item_id})"
