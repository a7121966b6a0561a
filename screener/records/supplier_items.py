"""Recorded items as the items of a supplier's history: what was received, what people decided, how it turned out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from screener.audit.suppliers import SupplierItem, supplier_key
from screener.parts.explaining import explain
from screener.records.begun import is_begun
from screener.records.model import StoredItem
from screener.records.record import Record
from screener.records.standing import Standing, is_suspect, standings, what_to_do
from screener.specs.makers import match_maker


@dataclass(frozen=True, slots=True)
class OpenItem:
    """A received item that waits for something, as it stands."""

    stored: StoredItem
    standing: Standing | None
    word: str
    """``HOLD`` or ``SEND BACK``."""
    order_name: str

    @property
    def reason(self) -> str:
        """Why: a person's word before the answer's own."""
        return self.standing.says if self.standing else str(self.stored.result.get("reason", ""))

    @property
    def is_claim(self) -> bool:
        """Whether it is to be claimed: sent back, or kept after it was confirmed as nonconforming."""
        return self.word == "SEND BACK" or (self.standing is not None and self.standing.kept)

    @property
    def is_asked_about(self) -> bool:
        """Whether it is kept for suspicion and nobody has settled that."""
        return not self.is_claim and is_suspect(self.stored)


def supplier_items(record: Record, *, since: str | None = None) -> Iterator[SupplierItem]:
    """Yield what was received, newest answers only; parts verified before use are not received a second time.

    What was only begun (`screener.records.begun`) was not looked at yet and is left out.

    Parameters
    ----------
    since
        ISO date or moment in UTC.
    """
    decided = standings(record)
    received = {run.id for run in record.runs() if run.kind == "receive"}
    for stored in record.items(since=since):
        standing = decided(stored)
        if stored.run_id in received and (standing is not None or not is_begun(stored)):
            yield _as_said(_item(stored), standing)


def open_items(record: Record, supplier: str, *, since: str | None = None) -> Iterator[OpenItem]:
    """Yield what was received from a supplier and is on hold or to be sent back now, in the order recorded."""
    decided, wanted = standings(record), supplier_key(supplier)
    orders = {run.id: run.order_name for run in record.runs() if run.kind == "receive"}
    for stored in record.items(since=since):
        standing = decided(stored)
        word = what_to_do(stored, standing)
        if stored.run_id in orders and word in {"HOLD", "SEND BACK"} and supplier_key(stored.supplier) == wanted:
            yield OpenItem(stored, standing, word, orders[stored.run_id])


def _item(stored: StoredItem) -> SupplierItem:
    return SupplierItem(
        supplier=stored.supplier,
        delivery=stored.run_id,
        received_on=stored.recorded_at[:10],
        disposition=stored.disposition,
        suspicion=stored.suspicion,
        family=_family(stored.requirement),
        maker=_maker(stored.result),
    )


def _as_said(item: SupplierItem, standing: Standing | None) -> SupplierItem:
    if standing is None:
        return item
    item = replace(item, disposition=standing.disposition, outcome=standing.outcome, released=standing.released)
    return replace(item, suspicion="none") if standing.word == "USE" else item


@cache
def _family(requirement: str) -> str:
    explained = explain(requirement)
    return explained.family or (explained.kind or "").replace("_", " ")


def _maker(result: Mapping[str, Any]) -> str:
    ordered = (result.get("order_line") or {}).get("maker")
    if ordered:
        return str(ordered)
    seen = [each.get("value") for each in result.get("observations") or () if each.get("attribute") == "maker"]
    return _known_maker(tuple(str(word) for word in seen if word))


@cache
def _known_maker(read: tuple[str, ...]) -> str:
    """The maker that the words read name or nearly spell; a word that is nobody's is shown as read, not as a maker."""
    matches = [match for word in read if (match := match_maker(word)) is not None]
    exact = next((match for match in matches if match.exact), None)
    if exact is not None or matches:
        return (exact or matches[0]).name
    return f"maker not known by the shop (read: {read[0]})" if read else ""
