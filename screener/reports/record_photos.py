"""What a report made later takes from the record: photos by hash, answers by number."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from screener.records.record import Record


def photos_in(record: Record) -> Callable[[str], bytes | None]:
    """Return a function that gives a kept photo's bytes by its hash, or None."""

    def read(sha256: str) -> bytes | None:
        path = record.archive.find(sha256)
        try:
            return path.read_bytes() if path is not None else None
        except OSError:
            return None

    return read


def answers_in(record: Record) -> Callable[[int], Mapping[str, Any]]:
    """Return a function that gives an item's recorded answer by its number."""
    return lambda number: record.item(number).result
