"""The rules of interchange, read from compare_rules.toml: the first rule that fits decides."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args

from screener.errors import InputUnreadable
from screener.parts.model import Kind, Outcome
from screener.specs.location import FOLDER, specs_folder

TABLE = "compare_rules.toml"
NOT_STATED = "not stated"
DUTIES = frozenset(
    {"dry", "dirty", "wet", "hot", "fast", "heavy", "vibration", "oil", "food", "spindle", "inverter", "clean"}
)
_OUTCOMES = frozenset(get_args(Outcome))
_KINDS = frozenset(get_args(Kind))


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the rules; empty sets mean: any."""

    id: str
    kind: str | None
    attributes: frozenset[str]
    need: frozenset[str]
    offered: frozenset[str]
    duty: frozenset[str]
    families: tuple[str, ...]
    outcome: Outcome
    because: str
    source: str

    def fits(self, kind: str, family: str, need: str, offered: str, duty: frozenset[str]) -> bool:
        """Say whether the rule speaks about this pair of values under this duty."""
        return (
            (self.kind is None or self.kind == kind)
            and _covers(self.need, need)
            and _covers(self.offered, offered)
            and (not self.duty or bool(self.duty & duty))
            and (not self.families or family.endswith(self.families))
        )


def _covers(values: frozenset[str], value: str) -> bool:
    return "*" in values or value in values


def _words(value: Any) -> frozenset[str]:
    return frozenset([value] if isinstance(value, str) else value or ())


def _broken(name: str, says: str) -> InputUnreadable:
    return InputUnreadable(
        says,
        where=f"{FOLDER}/{TABLE}, rule {name}",
        next_step="Correct the rule; the head of the file says what belongs there.",
        code="broken_row",
    )


def _rule(place: int, row: Mapping[str, Any]) -> Rule:
    name = str(row.get("id") or place)
    missing = [
        key for key in ("id", "attribute", "need", "offered", "outcome", "because", "source") if not row.get(key)
    ]
    if missing:
        raise _broken(name, f"{', '.join(missing)} is missing.")
    if row["outcome"] not in _OUTCOMES:
        raise _broken(name, f"The outcome “{row['outcome']}” is none of {', '.join(sorted(_OUTCOMES))}.")
    if row.get("kind") not in {None, *_KINDS}:
        raise _broken(name, f"The kind “{row['kind']}” is none of {', '.join(sorted(_KINDS))}.")
    if strange := _words(row.get("duty")) - DUTIES:
        raise _broken(name, f"The duty “{', '.join(sorted(strange))}” is none of {', '.join(sorted(DUTIES))}.")
    return Rule(
        id=row["id"],
        kind=row.get("kind"),
        attributes=_words(row["attribute"]),
        need=_words(row["need"]),
        offered=_words(row["offered"]),
        duty=_words(row.get("duty")),
        families=tuple(sorted(_words(row.get("families")))),
        outcome=row["outcome"],
        because=row["because"],
        source=row["source"],
    )


@cache
def compare_rules() -> Mapping[str, tuple[Rule, ...]]:
    """Return the rules by attribute, in file order.

    Raises
    ------
    InputUnreadable
        If the file is missing or a rule is broken; says which.
    """
    path = specs_folder() / TABLE
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8"))["rule"]
    except (OSError, KeyError, tomllib.TOMLDecodeError) as error:
        raise _broken("?", f"The file cannot be read ({error}).") from error
    found: dict[str, tuple[Rule, ...]] = {}
    for place, row in enumerate(rows, start=1):
        rule = _rule(place, row)
        for attribute in sorted(rule.attributes):
            found[attribute] = (*found.get(attribute, ()), rule)
    return found


def decide(attribute: str, *, kind: str, family: str, need: str, offered: str, duty: frozenset[str]) -> Rule | None:
    """Return the first rule for an attribute that fits, or None if no rule speaks about it."""
    rules = compare_rules().get(attribute, ())
    return next((rule for rule in rules if rule.fits(kind, family, need, offered, duty)), None)
