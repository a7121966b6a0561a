"""What people decided on recorded items: a hold or a release goes before what the answer says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from screener.records.begun import is_begun
from screener.records.every_event import every_event

if TYPE_CHECKING:
    from screener.records.model import Event, StoredItem
    from screener.records.record import Record

DECISIONS = frozenset({"hold", "release"})
WHAT_TO_DO = {"accept": "USE", "hold": "HOLD", "reject": "SEND BACK"}
"""The words of the screen and of reports beside those of the contract."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A person's decision that holds now."""

    kind: Literal["hold", "release"]
    who: str
    why: str
    at: str

    @property
    def word(self) -> str:
        """What to do now."""
        return "HOLD" if self.kind == "hold" else "USE"

    @property
    def by(self) -> str:
        """Whose decision it is: ``held by Kim``."""
        return f"{'held' if self.kind == 'hold' else 'released'} by {self.who}"


Standings = Callable[["StoredItem"], Standing | None]
"""Gives the decision that stands on an item."""


def standing_of(decisions: Iterable[Event], newest_item: int) -> Standing | None:
    """What people decided on a line, oldest decision first.

    A hold stays on the line until somebody releases it, whatever is answered meanwhile; a release counts only for the
    answer that the person had before them.
    """
    standing: Standing | None = None
    for event in decisions:
        if event.kind == "hold":
            standing = Standing("hold", event.who, event.why, event.at)
        elif event.item_id == newest_item:
            standing = Standing("release", event.who, event.why, event.at)
        else:
            standing = None
    return standing


def decisions_by_line(record: Record) -> dict[tuple[int, str], list[Event]]:
    """Return every hold and release by run and line, oldest first."""
    by_line: dict[tuple[int, str], list[Event]] = defaultdict(list)
    for event in every_event(record, DECISIONS):
        if event.item_id is not None and event.run_id is not None and "line" in event.data:
            by_line[event.run_id, str(event.data["line"])].append(event)
        elif event.item_id is not None:
            item = record.item(event.item_id)
            by_line[item.run_id, line_of(item)].append(event)
    return by_line


def standings(record: Record) -> Standings:
    """Return what gives the decision that stands on an item, the decisions read once."""
    decisions = decisions_by_line(record)
    return lambda item: standing_of(decisions.get((item.run_id, line_of(item)), ()), item.id)


def line_of(item: StoredItem) -> str:
    """Return the line an item answers for, whichever of its answers it is."""
    return str(item.result.get("item", item.item_key))


def what_to_do(item: StoredItem, standing: Standing | None) -> str:
    """Return what to do now, in the words of the screen; ``BEGUN`` where nothing was judged yet."""
    if standing is not None:
        return standing.word
    return "BEGUN" if is_begun(item) else WHAT_TO_DO.get(item.disposition, item.disposition)
