"""One understood piece of a code's content, and how pieces become fields."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.codes.model import CheckDigit, CodeFields

if TYPE_CHECKING:
    from collections.abc import Iterable

_TEXT_FIELDS = ("gtin", "batch", "serial", "designation", "country", "supplier", "order")


@dataclass(frozen=True, slots=True)
class Element:
    """A value standing under an identifier, with what is odd about it."""

    key: str
    """The identifier: ``01``, ``1P``, ``PNR`` …; empty where no table names it."""
    value: str
    """As encoded, without the identifier."""
    meaning: str = ""
    """The value in the form the field wants it (ISO date, whole number, two-letter country); else as encoded."""
    field: str = ""
    """The field of :class:`CodeFields` that the value belongs in; empty for none or when the value is unusable."""
    date_kind: str = ""
    check_digit: CheckDigit = "none"
    remarks: tuple[str, ...] = ()


def fields_from(elements: Iterable[Element]) -> CodeFields:
    """Put elements into fields. The first for a field wins; later ones are kept under their identifier."""
    taken: dict[str, str] = {}
    date_kind: str | None = None
    other: list[tuple[str, str]] = []
    unknown: list[str] = []
    for element in elements:
        if not element.value:
            continue
        if not element.key:
            unknown.append(element.value)
        elif not element.field or element.field in taken:
            other.append((element.key, element.value))
        else:
            taken[element.field] = element.meaning or element.value
            if element.field == "date":
                date_kind = element.date_kind or None
    return CodeFields(
        **{name: taken.get(name) for name in _TEXT_FIELDS},
        quantity=int(taken["quantity"]) if "quantity" in taken else None,
        date=taken.get("date"),
        date_kind=date_kind,
        other=tuple(other),
        unknown=tuple(unknown),
    )


def check_of(elements: Iterable[Element]) -> CheckDigit:
    """``bad`` if one check digit fails, else ``ok`` if one holds, else ``none``."""
    found = {element.check_digit for element in elements}
    if "bad" in found:
        return "bad"
    return "ok" if "ok" in found else "none"
