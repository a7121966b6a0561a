"""Order of work, cautions and companions printed before pressing: TOML files that a mechanic may edit."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, TypeVar

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder

STEPS_FILE = "fit_steps.toml"
COMPANIONS_FILE = "companions.toml"
_STRICT = ConfigDict(extra="forbid")
_Model = TypeVar("_Model")


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class Sentence:
    """One step or caution; all words of ``when`` must hold."""

    kind: str
    says: str
    source: str
    when: tuple[str, ...] = ()
    stage: Literal["before", "fit", "after"] = "fit"
    """Of a step in a job of several parts: before any part is fitted, with its part, or when all are in."""


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class CompanionLine:
    """One line of the check list; ``{size}`` in it is filled in where the size follows from the part."""

    id: str
    kind: str
    says: str
    source: str
    when: str = "always"
    forgotten: bool = False
    """Among those most often forgotten."""


@cache
def step_lines() -> tuple[Sentence, ...]:
    """Return the steps in the order of work."""
    return _entries(STEPS_FILE, "step", Sentence)


@cache
def caution_lines() -> tuple[Sentence, ...]:
    """Return the cautions."""
    return _entries(STEPS_FILE, "caution", Sentence)


@cache
def companion_lines() -> tuple[CompanionLine, ...]:
    """Return the check list's lines."""
    return _entries(COMPANIONS_FILE, "companion", CompanionLine)


def _entries(name: str, table: str, model: type[_Model]) -> tuple[_Model, ...]:
    entries: list[Any] = _document(name).get(table, [])
    return tuple(_validated(f"{name}, {table} number {n}", model, entry) for n, entry in enumerate(entries, start=1))


def _validated(where: str, model: type[_Model], content: object) -> _Model:
    try:
        return TypeAdapter(model).validate_python(content)
    except ValidationError as fault:
        first = fault.errors()[0]
        place = ".".join(str(step) for step in first["loc"])
        raise _broken(where, f"“{place}”: {first['msg']}.") from None


def _document(name: str) -> dict[str, Any]:
    try:
        with (specs_folder() / name).open("rb") as file:
            return tomllib.load(file)
    except (OSError, tomllib.TOMLDecodeError) as fault:
        raise _broken(name, f"The file cannot be read ({fault}).") from fault


def _broken(where: str, says: str) -> InputUnreadable:
    return InputUnreadable(
        says,
        where=f"{FOLDER}/{where}",
        next_step="Correct the entry or restore the file from the repository.",
        code="broken_row",
    )
