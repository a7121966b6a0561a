"""What a report is made from. Everything is computed before; a report only shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from screener.records.standing import Standing
from screener.screening.model import ScreenedItem


def no_photo(_: str) -> bytes | None:
    """Stand in where no photos are at hand."""
    return None


@dataclass(frozen=True, slots=True)
class ReportData:
    """One delivery, or one part, ready to be printed."""

    title: str
    created_at: str
    """As it is to be printed, with its time zone."""
    order_name: str
    items: Sequence[ScreenedItem]
    version: str
    photo: Callable[[str], bytes | None] = no_photo
    """Gives the bytes of a photo by its SHA-256 (asked first) or by its name, or None."""
    unassigned: Sequence[tuple[str, str]] = ()
    """Photos that belong to no line: (name, what is known about it)."""
    unreadable: Sequence[tuple[str, str]] = ()
    """Files that could not be read: (name, why)."""
    order_problems: Sequence[str] = ()
    """Sentences on what was doubtful in the order itself."""
    settings: Mapping[str, object] = field(default_factory=dict)
    """What the answers depended on, such as the share of bad items assumed."""
    decided: Mapping[str, Standing] = field(default_factory=dict)
    """What people decided, by the key of the item: it goes before the answer."""
    internal: bool = True
    """Names suppliers. A report that leaves the shop must not name a seller beside a suspicion."""
