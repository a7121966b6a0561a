"""The form of a non-conformance report: its fields, findings and photos, as they stand on paper."""

from __future__ import annotations

from dataclasses import dataclass

from screener.reports.figures import Figure

NO_ALLEGATION = (
    "This report states findings about the goods named. No wrongdoing by anybody is alleged; most such findings have "
    "an ordinary cause, and we ask for help in finding it."
)


@dataclass(frozen=True, slots=True)
class Field:
    """One field of the form: its name, the clause that asks for it, what is known. Empty means: to be written in."""

    name: str
    clause: str
    value: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A head with its fields."""

    head: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One finding in its four parts: what was required, by what, what was found, where."""

    required: str
    rests_on: str
    found: str
    where: str


@dataclass(frozen=True, slots=True)
class Nonconformance:
    """A report ready to be written."""

    number: str
    created_at: str
    version: str
    title: str
    sections: tuple[Section, ...]
    """Who and what: above the findings."""
    asked: str
    """What is asked of the supplier, in a sentence."""
    supplier_part: Section
    our_part: Section
    found: tuple[FoundRow, ...]
    measured: tuple[tuple[str, str, str], ...]
    """(what, value with uncertainty, by what) of each instrument reading."""
    not_checked: tuple[str, ...]
    figures: tuple[Figure, ...]
    sentence: str = NO_ALLEGATION
