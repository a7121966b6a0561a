"""Families of bearings: what an unmarked one is, and which suffixes it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from screener.specs.table import read_rows

TABLE = "series_families.csv"


@dataclass(frozen=True, slots=True)
class Family:
    """One family and the defaults that go unmarked."""

    key: str
    scope: str
    """Name under which suffixes.csv speaks of this family."""
    groups: tuple[str, ...]
    name: str
    unmarked_closure: str | None
    unmarked_clearance: str | None


@cache
def families() -> Mapping[str, Family]:
    """Return all families by key."""
    rows = read_rows(TABLE, ("family_key", "scope", "groups", "family", "unmarked_closure", "unmarked_clearance"))
    return {
        row.text("family_key"): Family(
            row.text("family_key"),
            row.text("scope"),
            tuple(row.text("groups").split()),
            row.text("family"),
            row.maybe_text("unmarked_closure"),
            row.maybe_text("unmarked_clearance"),
        )
        for row in rows
    }


@cache
def family_named(name: str) -> Family | None:
    """Return the first family of this name (as the table of boundary dimensions writes it), or None."""
    return next((family for family in families().values() if family.name == name), None)
