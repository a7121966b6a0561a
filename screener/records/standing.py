"""What people said of recorded items: a hold, a release or a confirmed outcome goes before what the answer says.

The one place that tells how an item stands. Every list, page, paper, rate and audit asks here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from screener.records.begun import is_begun
from screener.records.every_event import every_event

if TYPE_CHECKING:
    from screener.records.model import Event, StoredItem
    from screener.records.record import Record

DECISIONS = frozenset({"hold", "release", "outcome"})
WHAT_TO_DO = {"accept": "USE", "hold": "HOLD", "reject": "SEND BACK"}
"""The words of the screen and of reports beside those of the contract."""
_DISPOSITIONS = {says: word for word, says in WHAT_TO_DO.items()}
_BY = {
    "hold": "held by {}",
    "release": "released by {}",
    "conforming": "confirmed as conforming by {}",
    "nonconforming": "confirmed as nonconforming by {}",
}
_NEXT = {
    "hold": "It stays back until somebody releases it.",
    "release": "It may be used, on that word.",
    "conforming": "It may be used. What was not checked is still not checked.",
    "nonconforming": "Do not use it. Keep it apart with its packaging; it goes back with a claim.",
}
_KEPT = (
    "Do not use it, and do not return it before its maker or the authority has agreed. Keep the part and all its "
    "packaging, and claim replacement or credit."
)


@dataclass(frozen=True, slots=True)
class Standing:
    """A person's word that holds now."""

    kind: Literal["hold", "release", "conforming", "nonconforming"]
    """``hold`` and ``release`` decide what is done with an item; the other two say what it turned out to be."""
    who: str
    why: str
    at: str
    kept: bool = False
    """It did not conform and its origin was in doubt: it is kept, for what is suspect is not let back into trade."""
    besides: Standing | None = None
    """What else a person said that still matters: the outcome beside a decision, or the decision beside an outcome."""

    @property
    def word(self) -> Literal["USE", "HOLD", "SEND BACK"]:
        """What to do now."""
        if self.kind == "nonconforming":
            return "HOLD" if self.kept else "SEND BACK"
        return "HOLD" if self.kind == "hold" else "USE"

    @property
    def disposition(self) -> Literal["accept", "hold", "reject"]:
        """What to do now, in the words of the contract."""
        return _DISPOSITIONS[self.word]  # type: ignore[return-value]  # the dictionary's values are these words

    @property
    def by(self) -> str:
        """Whose word it is: ``held by Kim``."""
        return _BY[self.kind].format(self.who)

    @property
    def next_step(self) -> str:
        """What to do now, in a sentence."""
        return _KEPT if self.kept else _NEXT[self.kind]

    @property
    def says(self) -> str:
        """Everything that people said and that still matters, oldest first."""
        said = sorted((each for each in (self, self.besides) if each), key=lambda each: each.at)
        return "; ".join(f"{each.by}: {each.why}".rstrip(": ") for each in said)

    @property
    def outcome(self) -> Literal["conforming", "nonconforming"] | None:
        """What it turned out to be, if somebody has said so."""
        said = {each.kind for each in (self, self.besides) if each}
        return "nonconforming" if "nonconforming" in said else "conforming" if "conforming" in said else None

    @property
    def released(self) -> bool:
        """Whether a person released it, whatever it turned out to be later."""
        return "release" in {each.kind for each in (self, self.besides) if each}


Standings = Callable[["StoredItem"], Standing | None]
"""Gives the word of people that stands on an item."""


def standing_of(said: Iterable[Event], item: StoredItem) -> Standing | None:
    """Return what stands on an item of what people said of its line.

    A hold stays on the line until somebody releases it, whatever is answered meanwhile and also when the part is
    confirmed as conforming. A part that did not conform stays one whatever is answered meanwhile. A release, and a
    part confirmed as conforming, count only for the answer that the person had before them. Of a decision and an
    outcome the later one counts.

    Parameters
    ----------
    said
        Holds, releases and outcomes, oldest first; other events are passed over.
    item
        The newest answer of the line.
    """
    events = [event for event in said if event.kind in DECISIONS]
    withdrawn = {event.data.get("withdrawn") for event in events}
    decision: Standing | None = None
    outcome: Standing | None = None
    is_outcome_later = False
    for event in events:
        here = event.item_id == item.id
        if event.kind != "outcome":
            counts = here or event.kind == "hold"
            decision = _standing(event, event.kind) if counts else None
            is_outcome_later = False
        elif event.data.get("confirmed") and event.id not in withdrawn:
            bad = event.data["confirmed"] == "nonconforming"
            outcome = _standing(event, event.data["confirmed"], kept=bad and is_suspect(item)) if here or bad else None
            is_outcome_later = True
    if decision is None or outcome is None:
        return decision or outcome
    held = decision.kind == "hold" and outcome.kind == "conforming"
    first, second = (outcome, decision) if is_outcome_later and not held else (decision, outcome)
    return replace(first, besides=second)


def own_standing(item: StoredItem) -> Standing | None:
    """Return what stands on an item by its own events alone (`Record.item` fills them)."""
    return standing_of(item.events, item)


def is_suspect(item: StoredItem) -> bool:
    """Return whether an item is kept for suspicion: it is not returned before that is settled."""
    return item.result.get("exit") == "keep and ask" or item.suspicion == "strong"


def _standing(event: Event, kind: Any, *, kept: bool = False) -> Standing:
    return Standing(kind, event.who, event.why, event.at, kept)


def decisions_by_line(record: Record) -> dict[tuple[int, str], list[Event]]:
    """Return every hold, release and outcome by run and line, oldest first."""
    by_line: dict[tuple[int, str], list[Event]] = defaultdict(list)
    for event in every_event(record, DECISIONS):
        if event.item_id is not None and event.run_id is not None and "line" in event.data:
            by_line[event.run_id, str(event.data["line"])].append(event)
        elif event.item_id is not None:
            item = record.item(event.item_id)
            by_line[item.run_id, line_of(item)].append(event)
    return by_line


def standings(record: Record) -> Standings:
    """Return what gives the word of people that stands on an item, what they said read once."""
    decisions = decisions_by_line(record)
    return lambda item: standing_of(decisions.get((item.run_id, line_of(item)), ()), item)


def line_of(item: StoredItem) -> str:
    """Return the line an item answers for, whichever of its answers it is."""
    return str(item.result.get("item", item.item_key))


def what_to_do(item: StoredItem, standing: Standing | None) -> str:
    """Return what to do now, in the words of the screen; ``BEGUN`` where nothing was judged yet."""
    if standing is not None:
        return standing.word
    return "BEGUN" if is_begun(item) else WHAT_TO_DO.get(item.disposition, item.disposition)


def disposition_now(item: StoredItem, standing: Standing | None) -> str:
    """Return what to do now, in the words of the contract."""
    return item.disposition if standing is None else standing.disposition


def standing_at(found: Iterable[StoredItem], decided: Standings, disposition: str | None) -> Iterator[StoredItem]:
    """Yield the items that stand at a disposition now, or all without one."""
    for item in found:
        if disposition is None or disposition_now(item, decided(item)) == disposition:
            yield item
