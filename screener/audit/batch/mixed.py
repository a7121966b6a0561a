"""Words that differ within a group of units that were ordered as the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from screener.audit.batch.unit import Unit

Kind = Literal["usual", "question"]

_USUALLY_MIXED = frozenset({"batch on the box", "date on the box", "batch on the part", "kinds of code on the box"})
"""A dealer's shelf holds several batches and dates (common practice); other words should be one within an order."""
FEWEST_UNITS = 3
"""Two units that differ are two units; from three on it is a batch."""


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a word and the units (places) that show it."""

    value: str
    units: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mixed:
    """A word with more than one value, most frequent first."""

    name: str
    kind: Kind
    values: tuple[Value, ...]
    not_read: int
    """Units on which it was not read surely."""

    @property
    def says(self) -> str:
        """One sentence: which values, on how many units."""
        shown = [f"{each.value} on {len(each.units)}" for each in self.values[:6]]
        rest = len(self.values) - len(shown)
        more = f" and {rest} more" if rest else ""
        return f"{self.name[0].upper()}{self.name[1:]} differs within the batch: {', '.join(shown)}{more}."


def find_mixed(units: Sequence[Unit]) -> list[Mixed]:
    """Return the words that differ, questions first."""
    names = dict.fromkeys(name for unit in units for name in unit.words)
    found = [mixed for name in names if (mixed := _mixed(name, units)) is not None]
    return sorted(found, key=lambda each: each.kind != "question")


def _mixed(name: str, units: Sequence[Unit]) -> Mixed | None:
    places: dict[str, list[int]] = {}
    for place, unit in enumerate(units):
        if name in unit.words:
            places.setdefault(unit.words[name], []).append(place)
    if len(places) < 2 or len(units) < FEWEST_UNITS:
        return None
    values = sorted((Value(value, tuple(those)) for value, those in places.items()), key=lambda each: -len(each.units))
    not_read = len(units) - sum(len(each.units) for each in values)
    return Mixed(name, "usual" if name in _USUALLY_MIXED else "question", tuple(values), not_read)
