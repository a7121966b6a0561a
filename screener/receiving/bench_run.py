"""One run as the bench sees it: its order, what was given for each line, and the answers that count."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screener.errors import WrongUsage
from screener.receiving.assign import line_of_item
from screener.receiving.bench_log import LineLog, line_logs, log_of_item
from screener.receiving.bench_model import BenchLine
from screener.receiving.bench_screening import answer_of
from screener.records.begun import is_begun
from screener.records.result_json import item_from_json, requirement_from_json
from screener.records.standing import DECISIONS, standing_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.records.model import Event, Run, StoredItem
    from screener.records.record import Record
    from screener.screening.model import Item, Requirement

LONGEST_KEY = 60


@dataclass(frozen=True, slots=True)
class BenchRun:
    """What the record holds of one run. Made by `load_run`."""

    run: Run
    requirements: Mapping[str, Requirement]
    problems: tuple[str, ...]
    logs: Mapping[str, LineLog]
    versions: Mapping[str, tuple[StoredItem, ...]]
    """All answers by line, oldest first; empty when they were not asked for."""
    decisions: tuple[Event, ...]
    last_event: int

    @property
    def keys(self) -> tuple[str, ...]:
        """The lines in the order of the order; a line with several boxes is replaced by them."""
        boxes: dict[str, list[str]] = defaultdict(list)
        for key in dict.fromkeys((*self.logs, *self.versions)):
            if key not in self.requirements:
                boxes[line_of_item(key)].append(key)
        keys: list[str] = []
        for line in self.requirements:
            if line in self.logs or line in self.versions or line not in boxes:
                keys.append(line)
            keys += sorted(boxes[line])
        return tuple(keys)

    @property
    def answered(self) -> tuple[str, ...]:
        """The lines that have an answer."""
        return tuple(self.versions)

    def log(self, key: str) -> LineLog:
        """What was given for a line; empty for a line that nothing was given for."""
        return self.logs.get(key) or LineLog()

    def known(self, key: str) -> LineLog:
        """As `log`, for a key that came from outside.

        Raises
        ------
        WrongUsage
            The delivery has no such line.
        """
        if not 0 < len(key) <= LONGEST_KEY or not self._is_line(key):
            raise WrongUsage("the delivery has no such line.", where=f"line {key[:LONGEST_KEY]}", code="no_such_line")
        return self.log(key)

    def requirement(self, key: str) -> Requirement:
        """What a line, or a box of it, has to be."""
        return self.requirements.get(key) or self.requirements[line_of_item(key)]

    def item(self, key: str) -> Item | None:
        """What the newest answer of a line was made from; None without an answer."""
        answers = self.versions.get(key)
        return item_from_json(answers[-1].result).item if answers else None

    def line(self, key: str) -> BenchLine:
        """A line as it stands now.

        Raises
        ------
        WrongUsage
            The delivery has no such line.
        """
        log, need, answers = self.known(key), self.requirement(key), self.versions.get(key, ())
        newest = answers[-1] if answers else None
        standing = standing_of(self._decisions_on(key), newest) if newest else None
        return BenchLine(
            run_id=self.run.id,
            line=key,
            need=need.need,
            quantity=need.quantity,
            maker=need.maker,
            duty=tuple(sorted(need.duty)),
            supplier=need.supplier,
            note=need.note,
            state=log.state,
            answer=answer_of(newest, len(answers), standing) if newest else None,
            begun=newest is not None and standing is None and is_begun(newest),
            photos=log.photos,
            withdrawn=tuple(log.withdrawn),
            wanted=log.wanted,
            scans=tuple(log.scans),
            readings=tuple(log.readings),
            corrections=tuple(log.corrections),
        )

    def _is_line(self, key: str) -> bool:
        return key in self.requirements or line_of_item(key) in self.requirements

    def _decisions_on(self, key: str) -> list[Event]:
        ids = {stored.id for stored in self.versions.get(key, ())}
        return [event for event in self.decisions if event.item_id in ids]


def load_run(record: Record, run_id: int, *, answers: bool = True) -> BenchRun:
    """Read a run from the record; without ``answers`` only what was given.

    Raises
    ------
    WrongUsage
        There is no such run.
    """
    run, last = record.run(run_id), record.last_event()
    events = record.events(run_id=run_id)
    order = next((event.data for event in events if event.kind == "order"), None)
    stored = list(record.items(run=run_id, history=True)) if answers or order is None else []
    versions: dict[str, tuple[StoredItem, ...]] = {}
    for item in stored:
        key = item.result.get("item", item.item_key)
        versions[key] = (*versions.get(key, ()), item)
    logs = line_logs(events)
    if order is None:
        _take_over(versions, logs)
    return BenchRun(
        run=run,
        requirements=_requirements(order, versions),
        problems=tuple(order.get("problems", ())) if order else (),
        logs=logs,
        versions=versions,
        decisions=_decisions(record, stored),
        last_event=last,
    )


def _decisions(record: Record, stored: list[StoredItem]) -> tuple[Event, ...]:
    on_items = record.events(item_ids=[item.id for item in stored]) if stored else ()
    return tuple(event for event in on_items if event.kind in DECISIONS)


def _requirements(
    order: Mapping[str, Any] | None, versions: Mapping[str, tuple[StoredItem, ...]]
) -> dict[str, Requirement]:
    if order is not None:
        lines = order["lines"]
    else:
        lines = [items[0].result["order_line"] for items in versions.values() if "order_line" in items[0].result]
    return {line["line"]: requirement_from_json(line) for line in lines}


def _take_over(versions: Mapping[str, tuple[StoredItem, ...]], logs: dict[str, LineLog]) -> None:
    """Let a run from the command line be worked on further: its photos were given, too."""
    for key, items in versions.items():
        before, since = log_of_item(items[0]), logs.get(key)
        if since is not None:
            since.given = before.given | since.given
            since.read = before.read | since.read
        logs[key] = since or before
