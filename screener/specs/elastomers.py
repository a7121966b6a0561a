"""Elastomers by their ISO 1629 names: usual temperatures and storage group."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from screener.specs.table import Row, read_rows

TABLE = "elastomers.csv"


@dataclass(frozen=True, slots=True)
class ElastomerRow:
    """One material; temperatures in °C are usual limits of the group, not those of a compound."""

    material: str
    """ISO 1629 abbreviation (``NBR``); PTFE stands here too although it is no rubber."""
    name: str
    lowest_c: float
    highest_c: float
    source: str
    also_written: str | None = None
    storage_group: str | None = None
    """ISO 2230 group ``A``, ``B`` or ``C``, or None where not known."""
    note: str | None = None

    @property
    def row_name(self) -> str:
        """The row as a finding names it."""
        return f"{TABLE}: {self.material} ({self.source})"


def _read(row: Row) -> ElastomerRow:
    lowest_c, highest_c = row.number("lowest_c"), row.number("highest_c")
    if lowest_c >= highest_c:
        raise row.broken("highest_c", f"{highest_c:g} is not above {lowest_c:g}.")
    return ElastomerRow(
        material=row.text("material"),
        name=row.text("name"),
        lowest_c=lowest_c,
        highest_c=highest_c,
        source=row.text("source"),
        also_written=row.maybe_text("also_written"),
        storage_group=row.maybe_text("storage_group"),
        note=row.maybe_text("note"),
    )


@cache
def elastomers() -> tuple[ElastomerRow, ...]:
    """Return the whole table in file order."""
    return tuple(_read(row) for row in read_rows(TABLE, ("material", "name", "lowest_c", "highest_c", "source")))


def elastomer(material: str) -> ElastomerRow | None:
    """Return the row of a material by its ISO 1629 abbreviation or its other spelling (``FPM``), or None."""
    wanted = material.strip().upper()
    for row in elastomers():
        if wanted in {row.material, row.also_written} or wanted in row.material.split("/"):
            return row
    return None
