"""The values that the interface gives, for its contract."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from screener.receiving.bench_model import (
    BenchDelivery,
    BenchLine,
    DeliverySummary,
    FoundLine,
    HeldItem,
    SupplierSummary,
)

__all__ = ["BenchDelivery", "BenchLine"]


@dataclass(frozen=True, slots=True)
class Deliveries:
    """Deliveries and single parts."""

    deliveries: list[DeliverySummary]


@dataclass(frozen=True, slots=True)
class Opened:
    """The number of a delivery."""

    run_id: int


@dataclass(frozen=True, slots=True)
class OpenedPart:
    """A single part, and the line it is."""

    run_id: int
    line: str


@dataclass(frozen=True, slots=True)
class GotIt:
    """A photo has arrived and is in the record."""

    says: str
    waiting: int
    sha256: str
    new: bool
    read: bool


@dataclass(frozen=True, slots=True)
class Held:
    """Items kept back."""

    held: list[HeldItem]


@dataclass(frozen=True, slots=True)
class Suppliers:
    """What came from whom."""

    suppliers: list[SupplierSummary]


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines found."""

    lines: list[FoundLine]


@dataclass(frozen=True, slots=True)
class CodeSeen:
    """One code in a picture."""

    symbology: str
    text: str
    lines: list[FoundLine]


@dataclass(frozen=True, slots=True)
class Decoded:
    """The codes in a picture, and what is wrong with the picture."""

    codes: list[CodeSeen]
    problems: list[str]


@dataclass(frozen=True, slots=True)
class Change:
    """What to look at again."""

    id: int
    kind: str
    run_id: int | None
    line: str | None
    item_id: int | None
    at: str


@dataclass(frozen=True, slots=True)
class Changed:
    """Changes in the order made, and the last one."""

    changes: list[Change]
    last: int


@dataclass(frozen=True, slots=True)
class EventGiven:
    """Something that was added to an item later."""

    id: int
    kind: str
    at: str
    who: str
    why: str
    run_id: int | None
    item_id: int | None
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class PhotoGiven:
    """A photo of an item."""

    sha256: str
    name: str


@dataclass(frozen=True, slots=True)
class Item:
    """One recorded answer; ``result`` is that of ``screener.result/1``."""

    record: int
    run: int
    item: str
    recorded_at: str
    fingerprint: str
    line: str
    requirement: str
    supplier: str
    disposition: str
    suspicion: str
    photos: list[PhotoGiven]
    result: dict[str, Any]
    events: list[EventGiven]


@dataclass(frozen=True, slots=True)
class Fault:
    """What went wrong, for people, with a stable word for programs."""

    code: str
    says: str
    where: str
    next_step: str
