"""Single sampling plans of ISO 2859-1 (tables 1, 2-A, 2-B), which are those of MIL-STD-105E (tables I, II-A, II-B).

Reduced plans are those of MIL-STD-105E, table II-C; ISO 2859-1:1999 changed them (no gap between Ac and Re).

The plans suppose a series of lots of one supplier and maker. For a single lot, or for suspicion, they are the wrong
model: see `screener.audit.plans.accept_zero` and `screener.audit.plans.oc.chance_of_seeing`.
"""

from __future__ import annotations

from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.specs.sampling import AQLS, Level, Numbers, Severity, lot_ranges, plan_rows

PER_100_ABOVE = 10.0
"""AQLs above this count nonconformities per 100 units; up to it they may also be percent of units."""


@dataclass(frozen=True, slots=True)
class SinglePlan:
    """Look at ``sample_units`` of ``lot_units``; accept up to ``accept`` found, do not accept from ``reject`` on.

    ``reject`` is above ``accept`` + 1 only in some reduced plans: a count between them accepts this lot and ends
    reduced inspection.
    """

    lot_units: int
    sample_units: int
    accept: int
    reject: int
    letter: str
    """Code letter of the lot size and level, or ``-`` for a plan that comes from no table."""
    used_letter: str
    """Letter of the row used after the arrows."""
    severity: Severity
    aql: str
    level: Level
    source: str

    @property
    def whole_lot(self) -> bool:
        """Whether every unit is looked at."""
        return self.sample_units >= self.lot_units

    @property
    def per_100(self) -> bool:
        """Whether the AQL counts nonconformities per 100 units rather than percent of units."""
        return float(self.aql) > PER_100_ABOVE


def code_letter(lot_units: int, level: Level = "II") -> str:
    """Return the sample size code letter of a lot (table I).

    Raises
    ------
    WrongUsage
        The lot has fewer than two units: nothing is left to sample.
    """
    for row in lot_ranges():
        if row.from_units <= lot_units <= (row.to_units or lot_units):
            return row.letters[level]
    raise WrongUsage(
        f"a lot of {lot_units} cannot be sampled.", where="--lot", next_step="Look at every unit of a lot below two."
    )


def known_aql(value: str | float) -> str:
    """Return an AQL as the tables print it: 1, ``1.0`` and ``1,0`` are ``1.0``.

    Raises
    ------
    WrongUsage
        The tables have no such AQL; the neighbours are named.
    """
    try:
        number = float(str(value).replace(",", "."))
    except ValueError:
        number = float("nan")
    for name in AQLS:
        if float(name) == number:
            return name
    raise WrongUsage(
        f"the tables have no AQL of {value}.", where="--aql", next_step=f"Take one of {', '.join(AQLS)}.", code="no_aql"
    )


def single_plan(
    lot_units: int, aql: str | float, level: Level = "II", severity: Severity = "normal", *, letter: str | None = None
) -> SinglePlan:
    """Return the plan for a lot; where an arrow stands, the row that it leads to, sample size and numbers together.

    Parameters
    ----------
    lot_units
        Units in the lot.
    aql
        One of the tables' AQLs.
    letter
        Take the row of this code letter instead of the one for the lot size.

    Raises
    ------
    WrongUsage
        No such AQL, or a lot below two units.

    Notes
    -----
    A sample as large as the lot or larger means that every unit is looked at (MIL-STD-105E, note to table II).
    """
    name = known_aql(aql)
    wanted = letter or code_letter(lot_units, level)
    used, size, numbers, source = _follow(severity, wanted, name)
    sample = min(size, lot_units)
    return SinglePlan(lot_units, sample, numbers.accept, numbers.reject, wanted, used, severity, name, level, source)


def _follow(severity: Severity, letter: str, aql: str) -> tuple[str, int, Numbers, str]:
    rows = plan_rows(severity)
    at = next(number for number, row in enumerate(rows) if row.letter == letter)
    while not isinstance(cell := rows[at].cells[aql], Numbers):
        at += 1 if cell == "down" else -1
    return rows[at].letter, rows[at].sample_units, cell, rows[at].source


def one_step_tighter(plan: SinglePlan) -> int | None:
    """Return the acceptance number of the same row one AQL step down, or None where there is none.

    The switching score asks for it (ISO 2859-1:1999, 9.3.3.2, from memory).
    """
    step = AQLS.index(plan.aql) - 1
    if step < 0:
        return None
    row = next(row for row in plan_rows(plan.severity) if row.letter == plan.used_letter)
    cell = row.cells[AQLS[step]]
    return cell.accept if isinstance(cell, Numbers) else None
