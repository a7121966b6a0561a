"""What the words in the tables' ``source`` columns stand for."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder

TABLE = "sources.toml"
_LISTS = re.compile(r"list-\d+")


@dataclass(frozen=True, slots=True)
class Source:
    """One source: what it is, how it was obtained, how far it is trusted."""

    key: str
    what: str
    obtained: str
    trust: str


@cache
def sources() -> Mapping[str, Source]:
    """Return all sources by their section name.

    Raises
    ------
    InputUnreadable
        If the file is missing, is no TOML, or an entry lacks a line.
    """
    try:
        entries = tomllib.loads((specs_folder() / TABLE).read_text(encoding="utf-8"))
        found = {name: Source(**entry) for name, entry in entries.items()}
    except (OSError, ValueError, TypeError) as error:
        raise InputUnreadable(
            f"The list of sources cannot be read: {error}",
            where=f"{FOLDER}/{TABLE}",
            next_step="Each entry needs key, what, obtained and trust.",
            code="broken_row",
        ) from error
    return MappingProxyType(found)


def explain_source(word: str) -> Source | None:
    """Return the entry behind one word of a ``source`` cell (cells join several words by ``+``), or None."""
    if _LISTS.fullmatch(word) and word != "list-1":
        return sources().get("list-n")
    if word.endswith("(from memory)"):
        return sources().get("from-memory")
    if word == "list-1-index":
        return sources().get("list-1")
    if word.startswith("collection-"):
        return sources().get("collection")
    return sources().get(word.replace(" ", "-"))
