"""Recorded items, with what is kept of their photos, as the units of an audit: read a page at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from screener.audit.batch.features import unit_of
from screener.audit.batch.unit import Unit
from screener.errors import InputUnreadable
from screener.records.begun import is_begun
from screener.records.every_event import every_event
from screener.records.export import item_as_json
from screener.records.model import StoredItem
from screener.records.record import Record

_PAGE = 250


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which recorded items an audit is about: those of the runs named, or of all runs, that the other fields let by."""

    runs: tuple[int, ...] = ()
    supplier: str | None = None
    since: str | None = None


def audit_units(record: Record, chosen: Chosen) -> list[Unit]:
    """Return the units of an audit, in the order recorded.

    All photos are taken as one version of the reader saw them: two versions measure a little differently, and that
    would look like two processes.

    Raises
    ------
    InputUnreadable
        Nothing recorded fits.
    """
    released = _decided_by_people(record)
    version = _reader_version(record, chosen)
    units = [
        _as_decided(unit, released.get(unit.record))
        for page in _pages(record, chosen)
        for unit in _units(record, [each for each in page if each.id in released or not is_begun(each)], version)
    ]
    if not units:
        raise InputUnreadable(
            "nothing is recorded that fits.",
            where=record.place.says,
            next_step="`screener log runs` lists the runs.",
            code="nothing_to_audit",
        )
    return units


def _items(record: Record, chosen: Chosen) -> Iterator[StoredItem]:
    for run in chosen.runs or (None,):
        yield from record.items(run=run, supplier=chosen.supplier, since=chosen.since)


def _pages(record: Record, chosen: Chosen) -> Iterator[list[StoredItem]]:
    found = _items(record, chosen)
    while page := list(islice(found, _PAGE)):
        yield page


def _reader_version(record: Record, chosen: Chosen) -> str:
    counts: Counter[str] = Counter()
    for run in chosen.runs or (None,):
        counts.update(record.reader_versions(run=run, supplier=chosen.supplier, since=chosen.since))
    # The version that has read most of them; among equals the newest by name.
    return max(counts, key=lambda version: (counts[version], version), default="")


def _units(record: Record, page: Sequence[StoredItem], version: str) -> Iterator[Unit]:
    looks = record.cached_looks([photo.sha256 for item in page for photo in item.photos], version)
    for item in page:
        seen = [looks[photo.sha256] for photo in item.photos if photo.sha256 in looks]
        yield unit_of({**item_as_json(item, None), "item": item.result.get("item") or item.item_key}, seen)


def _decided_by_people(record: Record) -> dict[int, tuple[str, str]]:
    """Return what a person decided last on an item: (hold or release, who)."""
    said = every_event(record, {"hold", "release"})
    return {each.item_id: (each.kind, each.who) for each in said if each.item_id is not None}


def _as_decided(unit: Unit, decided: tuple[str, str] | None) -> Unit:
    """Let a person's word count: a released unit is used, a held one waits."""
    if decided is None:
        return unit
    kind, who = decided
    if kind == "release":
        return replace(
            unit, disposition="accept", exit="use", suspicion="none", reason=f"Released by {who}.", looked_at=True
        )
    if unit.disposition == "accept":
        return replace(unit, disposition="hold", exit="look again", reason=f"Held by {who}.")
    return unit
