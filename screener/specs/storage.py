"""How long closed bearings and elastomers keep. Sources disagree; each row names its own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.elastomers import elastomer
from screener.specs.table import read_rows

TABLE = "storage_life.csv"
NO_REMARK = "closed greased bearing, no remark below"
HOLD_ABOVE = "closed greased bearing, hold for review above"


@dataclass(frozen=True, slots=True)
class StorageRow:
    """Years a stored part keeps, and the years more after an inspection."""

    item: str
    first_years: float
    extension_years: float | None
    condition: str
    source: str

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.item} ({self.source})"


@cache
def storage_rows() -> tuple[StorageRow, ...]:
    """Return the whole table in file order."""
    return tuple(
        StorageRow(
            row.text("item"),
            row.positive("first_years"),
            row.maybe_number("extension_years"),
            row.text("condition"),
            row.text("source"),
        )
        for row in read_rows(TABLE, ("item", "first_years", "extension_years", "condition", "source"))
    )


def storage(item: str) -> StorageRow | None:
    """Return the row of an item as the table words it, or None."""
    return next((row for row in storage_rows() if row.item == item), None)


def elastomer_storage(material: str) -> StorageRow | None:
    """Return how long a material keeps (by its ISO 2230 group), or None if its group is not known."""
    found = elastomer(material)
    if found is None or found.storage_group is None:
        return None
    return storage(f"elastomer group {found.storage_group}")
