"""Every basic designation there is: the rows of the dimension table and, beyond them, series times bore code.

The numbering is that of ISO 15 and ISO 104 as the trade uses it: bore codes 00, 01, 02, 03 are 10, 12, 15, 17 mm, from
04 on five times the code, ``/`` gives the bore in millimetres, three-digit miniatures end in the bore.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from screener.parts.families import Family, families, family_named
from screener.specs.boundary import BoundaryRow, boundary, boundary_rows
from screener.specs.table import Row, read_rows

SERIES_TABLE = "series.csv"
_SMALL_BORES_MM = {0: 10.0, 1: 12.0, 2: 15.0, 3: 17.0}
_INCH_MM = 25.4
_SMALLEST_CODED_BORE_MM = 10.0
_MINIATURE_OF = {"dgb": "dgbm", "dgbf": "dgbmf"}
_HYPHEN = re.compile(r"(?<!\d)-|-(?!\d)")


@dataclass(frozen=True, slots=True)
class Basic:
    """A basic designation: what it is and how big, as far as the name or the table says."""

    name: str
    """As the trade writes it: ``6205``, ``618/500``, ``NU205``, ``NK20/16``."""
    family: Family
    bore_mm: float | None
    od_mm: float | None
    width_mm: float | None
    row: BoundaryRow | None
    note: str
    rests_on: str
    flanged: bool = False


def bore_by_code(code: int) -> float:
    """Return the bore in mm of a two-digit bore code (ISO 15: 00, 01, 02, 03, then five times the code)."""
    return _SMALL_BORES_MM.get(code, 5.0 * code)


def compact(name: str) -> str:
    """Return a basic designation without blanks and hyphens: the key of the lattice.

    A hyphen between figures stays: R1-4 is not R14.
    """
    return _HYPHEN.sub("", name.replace(" ", ""))


def _codes(text: str) -> Iterator[str]:
    """Yield the single codes of ``00-40 44 /500``: ranges keep the width of their first number."""
    for word in text.split():
        first, dash, last = word.lstrip("/").partition("-")
        lead = "/" if word.startswith("/") else ""
        if not dash:
            yield word
        else:
            yield from (f"{lead}{number:0{len(first)}d}" for number in range(int(first), int(last) + 1))


def _bore(rule: str, code: str) -> float | None:
    if code.startswith("/"):
        return float(code[1:])
    if rule == "inch":
        return round(float(code.partition("=")[2]) * _INCH_MM, 4)
    number = int(code)
    match rule:
        case "iso" | "insert":
            return bore_by_code(number)
        case "last_digit" | "direct":
            return float(number)
        case "sixteenths":
            return round(number * _INCH_MM / 16, 4)
        case "eighths":
            return round(number * _INCH_MM / 8, 4)
    return None


def _miniature(family: Family, bore_mm: float | None) -> Family:
    """Return the miniature's family: below 10 mm bore MC3 is a clearance, above it a brass cage and C3."""
    key = _MINIATURE_OF.get(family.key)
    small = key is not None and bore_mm is not None and bore_mm < _SMALLEST_CODED_BORE_MM
    return families()[key] if small and key is not None else family


def _of_series(row: Row) -> Iterator[Basic]:
    family = families()[row.text("family_key")]
    prefixes, series = (row.maybe_text("prefix") or "").split("|"), (row.maybe_text("series") or "").split("|")
    note, rests_on = row.maybe_text("note") or "", f"{SERIES_TABLE}, line {row.line}"
    for prefix in prefixes:
        for digits in series:
            for code in _codes(row.text("codes")):
                bore_mm = _bore(row.text("bore_rule"), code)
                name = f"{prefix}{digits}{code.partition('=')[0]}"
                yield Basic(name, _miniature(family, bore_mm), bore_mm, None, None, None, note, rests_on)


def _of_table(row: BoundaryRow, known: Basic | None) -> Basic:
    family = family_named(row.family) or (known.family if known else families()["dgb"])
    if known is not None and known.family.name == family.name:
        family = known.family
    elif family.key == "nrb" and "no inner ring" in (row.note or ""):
        family = families()["nro"]
    return Basic(
        row.designation,
        _miniature(family, row.bore_mm),
        row.bore_mm,
        row.od_mm,
        row.width_mm,
        row,
        row.note or (known.note if known else ""),
        row.row_name,
        flanged="flanged" in row.family,
    )


_TWINS = (
    (re.compile(r"6([789])(\d\d)"), r"61\1\2"),
    (re.compile(r"61([789])(\d\d)"), r"6\1\2"),
    (re.compile(r"5([23])(\d\d)"), r"3\1\2"),
    (re.compile(r"3([23])(\d\d)"), r"5\1\2"),
    (re.compile(r"6([789])([1-9])"), r"61\1/\2"),
    (re.compile(r"61([789])/([1-9])"), r"6\1\2"),
)


def _twin(name: str) -> str | None:
    """Return the other number of the same size: 6804 is 61804, 61903 is 6903, 5206 is 3206, 688 is 618/8."""
    for pattern, other in _TWINS:
        hit = pattern.fullmatch(name)
        if hit is not None:
            return hit.expand(other)
    return None


def _with_twin(basic: Basic) -> Basic:
    row = boundary(_twin(basic.name) or "")
    if basic.row is not None or row is None:
        return basic
    return Basic(basic.name, basic.family, row.bore_mm, row.od_mm, row.width_mm, row, basic.note, row.row_name)


@cache
def lattice() -> Mapping[str, Basic]:
    """Return every basic designation by its compact form (no blanks, no hyphens)."""
    found: dict[str, Basic] = {}
    for line in read_rows(SERIES_TABLE, ("prefix", "series", "family_key", "bore_rule", "codes")):
        for basic in _of_series(line):
            found.setdefault(compact(basic.name), _with_twin(basic))
    for row in boundary_rows():
        key = compact(row.designation)
        found[key] = _of_table(row, found.get(key))
    return found


@cache
def beginnings() -> frozenset[str]:
    """Return every beginning of every key of the lattice: lets a scan stop early."""
    return frozenset(key[:length] for key in lattice() for length in range(1, len(key) + 1))


def same_size_number(name: str) -> str | None:
    """Return the other standing number of the same size (``6804`` for ``61804``), or None."""
    twin = _twin(name)
    return twin if twin in lattice() else None
