"""What occurs twice though it should be one: serials and photos; and the gaps in a run of serials."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from screener.audit.batch.unit import Unit

_NUMBERED = re.compile(r"(.*?)(\d{3,})(\D{0,2})")
_FEWEST_IN_RUN = 5
_LONGEST_RUN = 10**9


@dataclass(frozen=True, slots=True)
class Repeated:
    """One identity on several units, by their numbers in the record."""

    value: str
    records: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SerialRun:
    """Serials that count on with one beginning; a note, never a finding: nobody owes a dealer neighbouring numbers."""

    beginning: str
    seen: int
    lowest: int
    highest: int
    missing: int
    """Numbers between the lowest and the highest that no unit shows."""
    longest_gap: int
    made: float
    """How many were made, if units came at random from one run of numbers."""

    @property
    def says(self) -> str:
        """The run and its gaps in one sentence."""
        return (
            f"{self.seen} serials {self.beginning}{self.lowest} to {self.beginning}{self.highest}: "
            f"{self.missing} numbers between them were not seen, the longest gap is {self.longest_gap}. "
            f"Gaps are usual. If units came at random from one run, about {self.made:.0f} were made."
        )


def repeated_serials(units: Sequence[Unit]) -> list[Repeated]:
    """Return serials read on more than one unit of a product; a unit whose product was not read may be any."""
    holders: defaultdict[str, list[tuple[str, Unit]]] = defaultdict(list)
    for unit in units:
        for serial, scope in unit.serials:
            holders[serial].append((scope, unit))
    found: dict[Repeated, None] = {}
    for serial, those in holders.items():
        for scope in sorted({scope for scope, _ in those} - {""}) or [""]:
            records = tuple(sorted({unit.record for mine, unit in those if mine in {scope, ""}}))
            if len(records) > 1:
                found[Repeated(serial, records)] = None
    return list(found)


def repeated_photos(units: Sequence[Unit]) -> list[Repeated]:
    """Return photos, by content, that were given for more than one unit."""
    holders: defaultdict[str, set[int]] = defaultdict(set)
    names: dict[str, str] = {}
    for unit in units:
        for photo in unit.photos:
            holders[photo.sha256].add(unit.record)
            names.setdefault(photo.sha256, photo.name)
    return [Repeated(names[sha], tuple(sorted(those))) for sha, those in holders.items() if len(those) > 1]


def serial_runs(units: Sequence[Unit]) -> list[SerialRun]:
    """Return the runs of numbered serials with their gaps."""
    runs: defaultdict[tuple[str, str, str, int], set[int]] = defaultdict(set)
    for unit in units:
        for serial, scope in unit.serials:
            parts = _NUMBERED.fullmatch(serial)
            if parts is not None:
                runs[scope, parts[1], parts[3], len(parts[2])].add(int(parts[2]))
    return [_run(beginning, sorted(seen)) for (_, beginning, _, _), seen in runs.items() if _is_run(seen)]


def _is_run(seen: set[int]) -> bool:
    return len(seen) >= _FEWEST_IN_RUN and max(seen) - min(seen) < _LONGEST_RUN


def _run(beginning: str, seen: Sequence[int]) -> SerialRun:
    width = seen[-1] - seen[0]
    # Goodman, "Serial number analysis", J. Amer. Statist. Assoc. 47, 1952: neither end of the run is known.
    made = width * (len(seen) + 1) / (len(seen) - 1) - 1
    return SerialRun(
        beginning=beginning,
        seen=len(seen),
        lowest=seen[0],
        highest=seen[-1],
        missing=width + 1 - len(seen),
        longest_gap=max(b - a - 1 for a, b in pairwise(seen)),
        made=made,
    )
