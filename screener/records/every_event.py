"""All events of some kinds, oldest first, read a page at a time so that memory stays small however long the record."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from screener.records.model import Event
    from screener.records.record import Record

_PAGE = 1000


def every_event(record: Record, kinds: Collection[str], after: int = 0) -> Iterator[Event]:
    """Yield the events of these kinds that came after an event (0: all)."""
    while page := record.events_after(after, kinds=kinds, at_most=_PAGE):
        yield from page
        after = page[-1].id
