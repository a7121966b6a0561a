"""Sampling tables: code letters, single plans with their arrows, and what to do on each unit drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from screener.specs.screening_rules import CHECK_NAMES
from screener.specs.table import Row, read_rows

LETTERS_TABLE = "sampling_code_letters.csv"
PLANS_TABLE = "sampling_single_plans.csv"
STEPS_TABLE = "sampling_unit_steps.csv"

Level = Literal["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]
LEVELS: tuple[Level, ...] = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
Severity = Literal["normal", "tightened", "reduced"]
SEVERITIES: tuple[Severity, ...] = ("normal", "tightened", "reduced")
Arrow = Literal["up", "down"]

AQLS = (
    *("0.010", "0.015", "0.025", "0.040", "0.065", "0.10", "0.15", "0.25", "0.40", "0.65", "1.0", "1.5", "2.5"),
    *("4.0", "6.5", "10", "15", "25", "40", "65", "100", "150", "250", "400", "650", "1000"),
)
"""AQLs as the tables print them: percent nonconforming up to 10, nonconformities per 100 units for all of them."""


@dataclass(frozen=True, slots=True)
class LotRange:
    """One row of the code letters: lots from so many to so many units (None: no end)."""

    from_units: int
    to_units: int | None
    letters: Mapping[Level, str]
    source: str


@dataclass(frozen=True, slots=True)
class Numbers:
    """Acceptance and rejection number: accept up to ``accept``, do not accept from ``reject`` on."""

    accept: int
    reject: int


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One row of a master table: the sample of a code letter, and what stands under each AQL."""

    severity: Severity
    letter: str
    sample_units: int
    cells: Mapping[str, Numbers | Arrow]
    source: str


@dataclass(frozen=True, slots=True)
class UnitStep:
    """Something to do on each unit drawn; ``check`` is the word of required_checks.toml that it serves, if any."""

    kind: str
    check: str | None
    does: str
    source: str


@cache
def lot_ranges() -> tuple[LotRange, ...]:
    """Return the code letters by lot size, small lots first; InputUnreadable for a broken row."""
    return tuple(_lot_range(row) for row in read_rows(LETTERS_TABLE, ("lot_from_units", *LEVELS, "source")))


@cache
def plan_rows(severity: Severity) -> tuple[PlanRow, ...]:
    """Return one master table from letter A down; InputUnreadable for a broken row."""
    columns = ("inspection", "code_letter", "sample_size_units", *(f"aql_{each}" for each in AQLS), "source")
    rows = (row for row in read_rows(PLANS_TABLE, columns) if row.text("inspection") == severity)
    return tuple(_plan_row(row, severity) for row in rows)


@cache
def unit_steps(kind: str) -> tuple[UnitStep, ...]:
    """Return what to do on each unit of a kind of part (``bearing``, ``shaft_seal``), in order."""
    rows = (row for row in read_rows(STEPS_TABLE, ("kind", "check", "does", "source")) if row.text("kind") == kind)
    return tuple(_unit_step(row) for row in rows)


def _lot_range(row: Row) -> LotRange:
    end = row.maybe_number("lot_to_units")
    letters = {level: row.text(level) for level in LEVELS}
    return LotRange(int(row.positive("lot_from_units")), None if end is None else int(end), letters, row.text("source"))


def _plan_row(row: Row, severity: Severity) -> PlanRow:
    cells = {aql: _cell(row, f"aql_{aql}") for aql in AQLS}
    size = int(row.positive("sample_size_units"))
    return PlanRow(severity, row.text("code_letter"), size, cells, row.text("source"))


def _cell(row: Row, column: str) -> Numbers | Arrow:
    text = row.text(column)
    if text in {"up", "down"}:
        return cast("Arrow", text)
    accept, _, reject = text.partition("/")
    if not (accept.isdecimal() and reject.isdecimal() and int(accept) < int(reject)):
        raise row.broken(column, f"“{text}” is neither up, down nor numbers like 2/3, the first one smaller.")
    return Numbers(int(accept), int(reject))


def _unit_step(row: Row) -> UnitStep:
    check = row.maybe_text("check")
    if check is not None and check not in CHECK_NAMES:
        raise row.broken("check", f"“{check}” is none of {', '.join(sorted(CHECK_NAMES))}.")
    return UnitStep(row.text("kind"), check, row.text("does"), row.text("source"))
