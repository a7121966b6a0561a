"""Recorded items, with what is kept of their photos, as the units of an audit: read a page at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from screener.audit.batch.features import kind_of, unit_of
from screener.audit.batch.unit import Unit
from screener.errors import InputUnreadable
from screener.records.begun import is_begun
from screener.records.export import item_as_json
from screener.records.model import StoredItem
from screener.records.record import Record
from screener.records.standing import WHAT_TO_DO, Standing, standings

_PAGE = 250


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which recorded items an audit is about: those of the runs named, or of all runs, that the other fields let by."""

    runs: tuple[int, ...] = ()
    supplier: str | None = None
    since: str | None = None
    kind: str | None = None
    """A designation, however it is spelled; its kind is what a lot is made of."""


def audit_units(record: Record, chosen: Chosen) -> list[Unit]:
    """Return the units of an audit, in the order recorded.

    All photos are taken as one version of the reader saw them: two versions measure a little differently, and that
    would look like two processes.

    Raises
    ------
    InputUnreadable
        Nothing recorded fits.
    """
    chosen = _spelled(record, chosen)
    decided = standings(record)
    version = _reader_version(record, chosen)
    units: list[Unit] = []
    for page in _pages(record, chosen):
        said = [(item, decided(item)) for item in page]
        judged = [(item, standing) for item, standing in said if standing or not is_begun(item)]
        seen = _units(record, [item for item, _ in judged], version)
        units += (_as_said(unit, standing) for unit, (_, standing) in zip(seen, judged, strict=True))
    if not units:
        raise InputUnreadable(
            "nothing is recorded that fits.",
            where=record.place.says,
            next_step=f"`screener log runs` lists the runs. {_suppliers_say(record)}".strip(),
            code="nothing_to_audit",
        )
    return units if chosen.kind is None else _of_kind(units, chosen.kind)


def _of_kind(units: Sequence[Unit], text: str) -> list[Unit]:
    mine = [unit for unit in units if unit.group == kind_of(text)]
    if not mine:
        held = Counter(unit.group for unit in units)
        named = "; ".join(f"{kind} ({count})" for kind, count in held.most_common(12))
        raise InputUnreadable(
            f"nothing recorded that fits was ordered as {text}.",
            where="--kind",
            next_step=f"Kinds recorded here: {named}.",
            code="nothing_to_audit",
        )
    return mine


def _suppliers(record: Record) -> list[str]:
    return sorted({supplier for supplier, *_ in record.tally() if supplier.strip()})


def _spelled(record: Record, chosen: Chosen) -> Chosen:
    """Take a supplier's name as the record spells it, however large its letters were typed."""
    names = _suppliers(record) if chosen.supplier else []
    if chosen.supplier is None or chosen.supplier in names:
        return chosen
    wanted = " ".join(chosen.supplier.split()).casefold()
    same = [name for name in names if " ".join(name.split()).casefold() == wanted]
    return replace(chosen, supplier=same[0]) if same else chosen


def _suppliers_say(record: Record) -> str:
    names = _suppliers(record)
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return f"Suppliers in the record: {', '.join(names[:12])}{more}." if names else ""


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


def _as_said(unit: Unit, standing: Standing | None) -> Unit:
    """Let a person's word count: what may be used is used, what is held waits. What was found on it stays with it."""
    if standing is None:
        return unit
    unit = replace(unit, decided=standing.says, outcome=standing.outcome or "", next_step=standing.next_step)
    if standing.disposition == unit.disposition and not standing.kept:
        return unit
    own = f"{WHAT_TO_DO.get(unit.disposition, unit.disposition)}, {unit.reason}".rstrip(", ")
    told = standing.by if standing.kind in {"hold", "release"} else f"{standing.by}: {standing.why}".rstrip(".: ")
    unit = replace(unit, disposition=standing.disposition, reason=f"{told[0].upper()}{told[1:]}.", own_answer=own)
    if standing.word == "USE":
        return replace(unit, exit="use", suspicion="none", looked_at=True)
    if standing.kind == "hold":
        return replace(unit, exit="look again")
    return replace(unit, exit="keep and ask" if standing.kept else "send back", looked_at=True)
