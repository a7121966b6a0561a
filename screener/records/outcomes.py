"""What items turned out to be, and what that teaches about the indicators.

An outcome is an event like any other: it is added, taken back by a further event, never changed. The last word counts:
a second confirmation replaces the first one until it is withdrawn too.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal
from weakref import WeakKeyDictionary

from screener.errors import WrongUsage
from screener.records.every_event import every_event
from screener.records.standing import line_of
from screener.screening.model import Tally

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.records.model import Event
    from screener.records.record import Record

Confirmed = Literal["conforming", "nonconforming"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an item turned out to be, with what had been looked for and seen on it."""

    item_id: int
    confirmed: Confirmed
    event_id: int
    who: str
    why: str
    at: str
    seen: frozenset[str] = frozenset()
    looked_for: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Known:
    """What an open record is known to hold; a record only grows, so only newer events are asked for."""

    upto: int = 0
    said: dict[int, list[Outcome]] = field(default_factory=lambda: defaultdict(list))


_known: WeakKeyDictionary[Record, _Known] = WeakKeyDictionary()


def confirm(record: Record, item_id: int, confirmed: Confirmed, *, who: str, why: str = "") -> int:
    """Record what an item turned out to be; return the event's id.

    Raises
    ------
    WrongUsage
        There is no such item, or nobody is named.
    """
    _named(who)
    item = record.item(item_id)
    return record.add_event(
        "outcome",
        run_id=item.run_id,
        item_id=item_id,
        who=who,
        why=why,
        data={"confirmed": confirmed, "line": line_of(item)},
    )


def withdraw(record: Record, item_id: int, *, who: str, why: str = "") -> int:
    """Take the standing outcome of an item back, so that the one before it counts, or none; return the event's id.

    Raises
    ------
    WrongUsage
        There is no such item, nobody is named, or the item has no outcome.
    """
    _named(who)
    item = record.item(item_id)
    standing = outcomes(record).get(item_id)
    if standing is None:
        raise WrongUsage(f"item {item_id} has no outcome to take back.", where=record.place.says, code="no_outcome")
    data = {"withdrawn": standing.event_id, "line": line_of(item)}
    return record.add_event("outcome", run_id=item.run_id, item_id=item_id, who=who, why=why, data=data)


def outcomes(record: Record) -> dict[int, Outcome]:
    """Return the outcome that counts for each item that has one, by item id."""
    known = _known.setdefault(record, _Known())
    for event in every_event(record, {"outcome"}, known.upto):
        _take_in(event, record, known)
        known.upto = event.id
    return {item_id: said[-1] for item_id, said in known.said.items() if said}


def tallies(record: Record) -> tuple[Tally, ...]:
    """Count, for each indicator, the confirmed items on which it was looked for and seen."""
    return tally(outcomes(record).values())


def tally(confirmed: Iterable[Outcome]) -> tuple[Tally, ...]:
    """Count outcomes; what was seen without being looked for in general teaches nothing, for its absence is unknown."""
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for each in confirmed:
        place = 0 if each.confirmed == "nonconforming" else 2
        for indicator in each.looked_for:
            counts[indicator][place] += indicator in each.seen
            counts[indicator][place + 1] += 1
    return tuple(Tally(indicator, *numbers) for indicator, numbers in sorted(counts.items()))


def _take_in(event: Event, record: Record, known: _Known) -> None:
    if event.item_id is None:
        return
    said = known.said[event.item_id]
    withdrawn = event.data.get("withdrawn")
    if withdrawn is not None:
        said[:] = [each for each in said if each.event_id != withdrawn]
    elif event.data.get("confirmed") in {"conforming", "nonconforming"}:
        suspicion = record.item(event.item_id).result.get("suspicion", {})
        seen = frozenset(each["indicator"] for each in suspicion.get("indicators", ()))
        said.append(
            Outcome(
                event.item_id,
                event.data["confirmed"],
                event.id,
                event.who,
                event.why,
                event.at,
                seen,
                frozenset(suspicion.get("looked_for", ())),
            )
        )


def _named(who: str) -> None:
    if not who.strip():
        raise WrongUsage("an outcome needs the name of the person who knows it.", code="event_without_reason")
