"""The identifier tables of reference_specs/: GS1 application identifiers, MH10.8.2 data identifiers, countries.

The tables are the rules: a check named in a row is the function of that name in :mod:`screener.codes.element_checks`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from screener.specs.table import Row, read_rows

_CHARACTERS = {
    "N": "[0-9]",
    "X": r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]",
    "Y": r"[#\-/0-9A-Z]",
    "Z": r"[0-9A-Z_a-z\-=]",
}
# GS1 General Specifications 7.8.5: elements whose identifier starts with these have a length fixed for all time,
# so that no separator follows them.
_PREDEFINED = re.compile("0[0-4]|1[1-9]|20|3[1-6]|41")


@dataclass(frozen=True, slots=True)
class Component:
    """One piece of an element's value, such as ``N14`` or ``[X..16]``."""

    form: str
    kind: str
    shortest: int
    longest: int
    optional: bool
    checks: tuple[str, ...] = ()

    @property
    def pattern(self) -> str:
        """The component as a group of a regular expression."""
        group = f"({_CHARACTERS[self.kind]}{{{self.shortest},{self.longest}}})"
        return f"{group}?" if self.optional else group


@dataclass(frozen=True, slots=True)
class ApplicationIdentifier:
    """A row of the GS1 table."""

    ai: str
    components: tuple[Component, ...]
    title: str
    not_with: tuple[str, ...]
    """Identifiers that the standard forbids beside this one; a trailing ``n`` stands for any digit."""
    field: str
    date_kind: str
    pattern: re.Pattern[str]

    @property
    def fixed_length(self) -> int | None:
        """Characters of the value where every component has one length, else ``None``."""
        if any(part.optional or part.shortest != part.longest for part in self.components):
            return None
        return sum(part.longest for part in self.components)

    @property
    def predefined(self) -> bool:
        """Whether the standard fixes the length for all time (no separator follows)."""
        return _PREDEFINED.match(self.ai) is not None


@dataclass(frozen=True, slots=True)
class DataIdentifier:
    """A row of the ANSI MH10.8.2 table."""

    di: str
    meaning: str
    field: str
    form: str
    date_kind: str


@cache
def application_identifiers() -> dict[str, ApplicationIdentifier]:
    """All GS1 application identifiers by number, ranges written out."""
    rows = read_rows("gs1_application_identifiers.csv", ("ai", "format", "checks", "title", "not_with", "field"))
    return {rule.ai: rule for row in rows for rule in _gs1_rules(row)}


@cache
def data_identifiers() -> dict[str, DataIdentifier]:
    """All ANSI MH10.8.2 data identifiers by code."""
    rules = map(_data_identifier, read_rows("data_identifiers.csv", ("di", "meaning", "field", "form", "date_kind")))
    return {rule.di: rule for rule in rules}


@cache
def country_codes() -> dict[str, str]:
    """ISO 3166-1 numeric code to its two letters, for the countries that parts usually come from."""
    return {row.text("numeric"): row.text("alpha2") for row in read_rows("gs1_countries.csv", ("numeric", "alpha2"))}


def _data_identifier(row: Row) -> DataIdentifier:
    field, form, date_kind = (row.maybe_text(name) or "" for name in ("field", "form", "date_kind"))
    return DataIdentifier(row.text("di"), row.text("meaning"), field, form, date_kind)


def _gs1_rules(row: Row) -> Iterator[ApplicationIdentifier]:
    try:
        parts = [_component(form) for form in row.text("format").split("+")]
    except (KeyError, ValueError, IndexError) as error:
        raise row.broken("format", "A format looks like N14, X..20 or N3+[X..9].") from error
    components = _with_checks(parts, row.maybe_text("checks") or "")
    first, _, last = row.text("ai").partition("-")
    for number in range(int(first), int(last or first) + 1):
        yield ApplicationIdentifier(
            ai=str(number).zfill(len(first)),
            components=components,
            title=row.text("title"),
            not_with=tuple((row.maybe_text("not_with") or "").split()),
            field=row.maybe_text("field") or "",
            date_kind=row.maybe_text("date_kind") or "",
            pattern=re.compile("".join(part.pattern for part in components)),
        )


def _component(form: str) -> Component:
    bare = form.strip("[]")
    kind, size = bare[0], bare[1:]
    longest = int(size.lstrip("."))
    shortest = 1 if size.startswith("..") else longest
    return Component(form, kind, shortest, longest, optional=form.startswith("["))


def _with_checks(components: list[Component], checks: str) -> tuple[Component, ...]:
    """Give each group of named checks to the next component of the same form (plain components are not named)."""
    done: list[Component] = []
    groups = [group.split(",") for group in checks.split()]
    for part in components:
        mine = groups.pop(0)[1:] if groups and groups[0][0] == part.form else []
        done.append(Component(part.form, part.kind, part.shortest, part.longest, part.optional, tuple(mine)))
    return tuple(done)
