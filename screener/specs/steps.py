"""Steps that may settle a doubt (steps.toml): what they cost, what they explain, close and show."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from pydantic import with_config

from screener.specs.screening_rules import STRICT, broken, document, entries, finding_kinds, indicators, validated

if TYPE_CHECKING:
    from collections.abc import Iterable

FILE = "steps.toml"


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class Step:
    """One step. Chances hold where there is an ordinary cause to be found."""

    id: str
    says: str
    hands_on_s: float
    source: str
    wait_days: float = 0.0
    explains: dict[str, float] = field(default_factory=dict)
    confirms: frozenset[str] = field(default_factory=frozenset)
    confirms_bad: float = 0.0
    """Chance that the step shows plainly that something is wrong, where it is."""
    closes: frozenset[str] = field(default_factory=frozenset)
    looks_for: tuple[str, ...] = ()
    done_when: tuple[str, ...] = ()


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class StepSettings:
    """What waiting costs, and how often a check that is made gives an answer."""

    waiting_day_counts_s: float
    closes_chance: float
    offered: int


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class HoldProcedure:
    """What is done with an item that is kept."""

    procedure: tuple[str, ...]
    source: str


@cache
def steps() -> tuple[Step, ...]:
    """The steps, cheapest first as the file has them.

    Raises
    ------
    InputUnreadable
        A step names a finding or an indicator that there is not.
    """
    known = entries(FILE, "step", Step)
    for step in known:
        _all_known(step, (*step.explains, *step.confirms), finding_kinds())
        _all_known(step, step.looks_for, indicators())
    return known


@cache
def step_settings() -> StepSettings:
    """The settings of the file."""
    return validated(FILE, "settings", StepSettings, document(FILE).get("settings", {}))


@cache
def hold_procedure() -> HoldProcedure:
    """What is done with an item that is kept because something is suspect."""
    return validated(FILE, "hold", HoldProcedure, document(FILE).get("hold", {}))


def _all_known(step: Step, names: Iterable[str], known: Iterable[str]) -> None:
    there = set(known)
    for name in names:
        if name not in there:
            raise broken(FILE, step.id, f"“{name}” is not known.")
