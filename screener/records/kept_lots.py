"""Lots that a plan has decided, kept with the runs they came in: a supplier's next lot is inspected by them.

A lot is an event of its first run. Kept again (the same runs, supplier and plan), the later word counts, at the place
in time of the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from screener.errors import WrongUsage
from screener.records.every_event import every_event
from screener.records.record import Record


@dataclass(frozen=True, slots=True)
class KeptLot:
    """One lot as decided by the count of a plan."""

    supplier: str
    runs: tuple[int, ...]
    lot_units: int
    found: int
    """Units that did not conform, among those the plan asked for."""
    accepted: bool
    aql: str
    level: str
    severity: str

    @property
    def word(self) -> str:
        """As a typed history has it: ``800:2/normal`` for a lot of 800 with two found on normal inspection."""
        return f"{self.lot_units}:{self.found}/{self.severity}"


def keep_lot(record: Record, lot: KeptLot, *, who: str) -> int:
    """Keep a lot; return the event's id.

    Raises
    ------
    WrongUsage
        Nobody is named, or the lot has no supplier or no run.
    """
    if not who.strip():
        raise WrongUsage("a lot that is kept needs the name of who decided.", where="--by")
    if not lot.supplier or not lot.runs:
        raise WrongUsage("a lot is kept for one supplier.", where="--supplier", next_step="Name the supplier.")
    return record.add_event("lot", run_id=min(lot.runs), who=who, data=asdict(lot))


def kept_lots(record: Record, supplier: str, aql: str, level: str, *, except_runs: Sequence[int] = ()) -> list[KeptLot]:
    """Return a supplier's lots of this AQL and level, oldest first; without the lot of exactly these runs."""
    found: dict[tuple[int, ...], KeptLot] = {}
    for event in every_event(record, {"lot"}):
        lot = _lot_of(event.data)
        if (lot.supplier, lot.aql, lot.level) == (supplier, aql, level):
            found[lot.runs] = lot
    found.pop(tuple(sorted(except_runs)), None)
    return list(found.values())


def _lot_of(data: Mapping[str, Any]) -> KeptLot:
    texts = {name: str(data.get(name) or "") for name in ("supplier", "aql", "level", "severity")}
    return KeptLot(
        runs=tuple(sorted(int(run) for run in data["runs"])),
        lot_units=int(data["lot_units"]),
        found=int(data["found"]),
        accepted=bool(data["accepted"]),
        **texts,
    )
