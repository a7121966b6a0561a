"""The files that turn observations into a disposition: findings, indicators, rules, required and impossible checks.

They are TOML files that a mechanic may edit; a mistake in one is told with its file and entry.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal, TypeVar

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder

Effect = Literal["reject", "hold", "none"]
CHECK_NAMES = frozenset({"named", "steel", "face", "faces", "clearance", "material", "maker"})
"""What required_checks.toml may ask for; `screener.screening.checks.coverage` makes each of them."""
STRICT = ConfigDict(extra="forbid")
_Model = TypeVar("_Model")


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class FindingKind:
    """What a finding code means for the part (findings.toml)."""

    code: str
    effect: Effect
    headline: str
    settle: str
    """The cheapest step that decides the question."""
    indicator: str | None = None


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class Indicator:
    """One sign of suspicion with its likelihood ratio and range (indicators.toml)."""

    id: str
    group: str
    says: str
    ratio: float
    ratio_low: float
    ratio_high: float
    source: str
    ordinary_causes: tuple[str, ...] = ()
    alone_enough_for_strong: bool = False
    shared_cause: str = ""
    """One everyday event that gives several signs at once, in several groups; they count as one group."""
    how: str = ""
    """How a person at a bench sees it."""
    settle: str = ""
    """The cheapest next step that would settle it."""


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class SuspicionSettings:
    """The visible settings of the weighing (indicators.toml, ``[settings]``)."""

    prior_percent: float
    """Share of bad items expected from an ordinary supplier before looking, in percent."""
    weak_from_db: float
    moderate_from_db: float
    strong_from_db: float
    cap_db: float = 20.0
    """The most that the signs of one group say together; a single stronger one still counts fully."""
    group_caps_db: dict[str, float] = field(default_factory=dict)
    """Groups or causes with a lower cap."""
    absence_at_least: float = 0.5
    """Ratio below which the absence of signs never brings the odds."""
    outcome_strength: float = 20.0
    """Confirmed items of each kind that the judged ratio is worth."""
    seen_on_good_percent: float = 3.0
    """How often a sign is taken to be seen on good items before outcomes are known."""


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class SupplierClass:
    """A kind of supplier for whom another share of bad items is expected (indicators.toml)."""

    id: str
    words: str
    prior_percent: float
    source: str


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class IndicatorGroup:
    """A group of indicators (indicators.toml, ``[[group]]``)."""

    id: str
    absence_ratio: float
    """Likelihood ratio of having looked and seen none of them; 0.8 to 0.95."""


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class DispositionRule:
    """One rule of disposition_rules.toml; all conditions given must hold."""

    id: str
    disposition: Literal["accept", "hold", "reject"]
    exit: Literal["use", "keep and ask", "look again", "send back"]
    next_step: str
    source: str
    when_suspicion: Literal["weak", "moderate", "strong"] | None = None
    when_effect: Effect | None = None
    when_missing: bool = False
    when_gap: str | None = None
    """Code of a required check that was not made."""
    otherwise: bool = False


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class RequiredChecks:
    """What must have been looked at before acceptance (required_checks.toml)."""

    id: str
    kind: str
    checks: tuple[str, ...]
    source: str
    duty: frozenset[str] = field(default_factory=frozenset)


@with_config(STRICT)
@dataclass(frozen=True, slots=True)
class NeverSeen:
    """What nobody can tell at the dock (never_seen.toml)."""

    code: str
    kind: str
    word: str
    """In a word or two, for a table."""
    says: str
    source: str


@cache
def finding_kinds() -> dict[str, FindingKind]:
    """Finding codes with their effect, by code."""
    kinds = {k.code: k for k in entries("findings.toml", "finding", FindingKind)}
    for kind in kinds.values():
        if kind.indicator is not None and kind.indicator not in indicators():
            raise broken("findings.toml", kind.code, f"“{kind.indicator}” is no indicator of indicators.toml.")
    return kinds


@cache
def indicators() -> dict[str, Indicator]:
    """Indicators of suspicion, by id."""
    return {i.id: i for i in entries("indicators.toml", "indicator", Indicator)}


@cache
def suspicion_settings() -> SuspicionSettings:
    """The prior and the limits of the levels."""
    table = document("indicators.toml").get("settings", {})
    return validated("indicators.toml", "settings", SuspicionSettings, table)


@cache
def supplier_classes() -> dict[str, SupplierClass]:
    """The kinds of supplier with a share of their own, by id."""
    return {c.id: c for c in entries("indicators.toml", "supplier_class", SupplierClass)}


@cache
def indicator_groups() -> dict[str, IndicatorGroup]:
    """The groups of indicators, by id; every indicator belongs to one of them."""
    groups = {g.id: g for g in entries("indicators.toml", "group", IndicatorGroup)}
    for each in indicators().values():
        if each.group not in groups:
            raise broken("indicators.toml", each.id, f"“{each.group}” is none of the groups.")
        if not each.ratio_low <= each.ratio <= each.ratio_high:
            raise broken("indicators.toml", each.id, "The ratio lies outside its range.")
    return groups


@cache
def disposition_rules() -> tuple[DispositionRule, ...]:
    """The rules in the order in which they are tried; the last one always applies."""
    rules = entries("disposition_rules.toml", "rule", DispositionRule)
    if not rules or not rules[-1].otherwise:
        raise broken("disposition_rules.toml", "the last rule", "It must say `otherwise = true`.")
    return rules


@cache
def required_checks() -> tuple[RequiredChecks, ...]:
    """What acceptance waits for, by kind and duty."""
    required = entries("required_checks.toml", "required", RequiredChecks)
    for entry in required:
        for name in entry.checks:
            if name not in CHECK_NAMES:
                raise broken("required_checks.toml", entry.id, f"“{name}” is none of {', '.join(sorted(CHECK_NAMES))}.")
    return required


@cache
def never_seen() -> tuple[NeverSeen, ...]:
    """What is listed under every result as not checked."""
    return entries("never_seen.toml", "never", NeverSeen)


def entries(name: str, table: str, model: type[_Model]) -> tuple[_Model, ...]:
    """Return the entries of a list of tables of a file, checked."""
    rows = document(name).get(table, [])
    return tuple(validated(name, f"{table} number {n}", model, e) for n, e in enumerate(rows, start=1))


def validated(name: str, entry: str, model: type[_Model], content: object) -> _Model:
    """Return one entry, checked.

    Raises
    ------
    InputUnreadable
        A field is missing, unknown or of another kind.
    """
    try:
        return TypeAdapter(model).validate_python(content)
    except ValidationError as fault:
        first = fault.errors()[0]
        place = ".".join(str(step) for step in first["loc"])
        raise broken(name, entry, f"“{place}”: {first['msg']}.") from None


def document(name: str) -> dict[str, Any]:
    """Return a TOML file of the reference folder."""
    try:
        with (specs_folder() / name).open("rb") as file:
            return tomllib.load(file)
    except (OSError, tomllib.TOMLDecodeError) as fault:
        raise broken(name, "the file", f"It cannot be read ({fault}).") from fault


def broken(name: str, entry: str, says: str) -> InputUnreadable:
    """Return the error that tells a mistake in a file with its entry."""
    return InputUnreadable(
        says,
        where=f"{FOLDER}/{name}, {entry}",
        next_step="Correct the entry or restore the file from the repository.",
        code="broken_row",
    )
