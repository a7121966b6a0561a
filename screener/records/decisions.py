"""Holding an item back and letting it go: what a person decides, with name and reason, on the answer before them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from screener.errors import WrongUsage
from screener.records.standing import DECISIONS, line_of

if TYPE_CHECKING:
    from screener.records.record import Record
    from screener.records.standing import Standing

Decision = Literal["hold", "release"]


def decide(record: Record, kind: Decision, item_id: int, who: str, why: str) -> int | None:
    """Hold or release an item; return the event's id, or None where the same person has just said the same.

    Raises
    ------
    WrongUsage
        There is no such item, there is a newer answer for its line, or who or why is empty.
    """
    stored = record.item(item_id)
    if any(event.kind == "superseded" for event in stored.events):
        raise newer_answer(f"item {item_id}")
    said = [event for event in stored.events if event.kind in DECISIONS][-1:]
    if [(event.kind, event.who, event.why) for event in said] == [(kind, who.strip(), why.strip())]:
        return None
    return record.add_event(
        kind, run_id=stored.run_id, item_id=item_id, who=who, why=why, data={"line": line_of(stored)}
    )


def decisions_open(word: str, standing: Standing | None) -> frozenset[Decision]:
    """Return which decisions make sense as an item stands: nobody releases what may be used, or holds what is held.

    Parameters
    ----------
    word
        What to do with it now, as `screener.records.standing.what_to_do` says it.
    standing
        The word of people that stands on it.
    """
    if standing is not None and standing.kind == "hold":
        return frozenset({"release"})
    return frozenset({"hold"}) if word in {"USE", "BEGUN"} else frozenset({"hold", "release"})


def newer_answer(where: str) -> WrongUsage:
    """Return the error of a decision on an answer that no longer counts."""
    return WrongUsage(
        "there is a newer answer for this line.",
        where=where,
        next_step="Read it first, then decide.",
        code="newer_answer",
    )
