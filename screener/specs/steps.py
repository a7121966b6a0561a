"""Steps that may settle a doubt (steps.toml): what they cost, what they explain, close and show."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache

from pydantic import with_config

from screener.specs.screening_rules import STRICT, document, entries, finding_kinds, indicators, validated

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
    closes: dict[str, float] = field(default_factory=dict)
    after: frozenset[str] = field(default_factory=frozenset)
    not_after: frozenset[str] = field(default_factory=frozenset)
    looks_for: tuple[str, ...] = ()
    done_when: tuple[str, ...] = ()


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class StepSettings:
    """What waiting costs, and how many steps are named."""

    waiting_day_counts_s: float
    offered: int


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class HoldProcedure:
    """What is done with an item that is kept."""

    procedure: tuple[str, ...]
    source: str


@cache
def steps() -> tuple[Step, ...]:
    """The steps, cheapest first as the file has them, without names that no other file has (`unknown_names`).

    A step is advice: a finding that was renamed or taken out must not stop an item from being screened.
    """
    return tuple(_only_known(step) for step in entries(FILE, "step", Step))


def unknown_names() -> tuple[tuple[str, str], ...]:
    """Return (step, name) for each finding or indicator that a step names and no file has."""
    return tuple(
        (step.id, name)
        for step in entries(FILE, "step", Step)
        for names, known in ((step.explains.keys() | step.confirms, finding_kinds()), (step.looks_for, indicators()))
        for name in sorted(names)
        if name not in known
    )


@cache
def step_settings() -> StepSettings:
    """The settings of the file."""
    return validated(FILE, "settings", StepSettings, document(FILE).get("settings", {}))


@cache
def hold_procedure() -> HoldProcedure:
    """What is done with an item that is kept because something is suspect."""
    return validated(FILE, "hold", HoldProcedure, document(FILE).get("hold", {}))


def _only_known(step: Step) -> Step:
    return replace(
        step,
        explains={code: chance for code, chance in step.explains.items() if code in finding_kinds()},
        confirms=step.confirms & finding_kinds().keys(),
        looks_for=tuple(name for name in step.looks_for if name in indicators()),
    )
