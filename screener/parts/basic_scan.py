"""Finding the basic designation at one place of a normalised text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from screener.parts.basics import Basic, beginnings, compact, lattice
from screener.parts.families import Family, families
from screener.parts.vocabulary import PREFIX_TABLE, Code, codes_for
from screener.specs.boundary import BoundaryRow, boundary
from screener.specs.table import read_rows

NAMED_TABLE = "series_named.csv"


class BasicFound(NamedTuple):
    """A basic designation in a text, with the prefix before it."""

    basic: Basic
    prefix: Code | None
    start: int
    end: int


def basics_at(text: str, start: int, *, split_numbers: bool = False) -> list[BasicFound]:
    """Return every basic designation that begins at ``start``, longest first.

    Parameters
    ----------
    text
        Normalised text.
    split_numbers
        Accept ``62 05``: a blank or hyphen between series and bore code. Only where the whole text is one designation.
    """
    found = [BasicFound(basic, None, start, end) for basic, end in _plain(text, start, split_numbers)]
    if not found:
        found = list(_with_prefix(text, start, split_numbers))
    if not found:
        named = _named(text, start) or _inch_tapered(text, start)
        found = [named] if named else []
    return sorted(found, key=lambda hit: -hit.end)


def _plain(text: str, start: int, split_numbers: bool) -> Iterator[tuple[Basic, int]]:
    keys, begins = lattice(), beginnings()
    key, place, limit = "", start, len(text)
    while place < limit:
        char = text[place]
        if (char in " -" and key + char not in begins) or (char == "." and key.isalpha()):
            if not key or not _may_part(key, text, place, split_numbers):
                return
            place += 1
            continue
        key += "." if char == "," and "/" in key else char
        if key not in begins:
            return
        place += 1
        basic = keys.get(key)
        if basic is not None:
            yield basic, place


def begins_basic(text: str, start: int) -> bool:
    """Say whether a basic designation without a prefix begins at ``start``."""
    return next(_plain(text, start, split_numbers=False), None) is not None


def _may_part(key: str, text: str, place: int, split_numbers: bool) -> bool:
    """Say whether a blank or hyphen may stand at ``place``, inside a basic designation that began with ``key``."""
    following = text[place + 1 : place + 4]
    if not following[:1].isalnum():
        return False
    if key[-1].isalpha():
        return following[0].isdigit()
    # Only a blank parts series and bore code ("62 05"), and never the inch numbers: "16 28 7" is a seal.
    if not split_numbers or text[place] != " " or not key.isdigit() or len(key) not in {2, 3} or key == "16":
        return False
    return following[:2].isdigit() and not following[2:3].isdigit() and key not in lattice()


@cache
def _prefixes() -> tuple[tuple[str, Code], ...]:
    """Return the prefixes of all families, longest first."""
    found: dict[str, Code] = {}
    for family in families().values():
        found |= codes_for(family.scope, family.groups, PREFIX_TABLE)
    return tuple(sorted(found.items(), key=lambda item: -len(item[0])))


def _takes(family: Family, token: str) -> Code | None:
    return codes_for(family.scope, family.groups, PREFIX_TABLE).get(token)


def _with_prefix(text: str, start: int, split_numbers: bool) -> Iterator[BasicFound]:
    for token, _ in _prefixes():
        if text.startswith(token, start):
            after = start + len(token)
            after += text[after : after + 1] in {" ", "-"}
            for basic, end in _plain(text, after, split_numbers):
                code = _takes(basic.family, token)
                if code is not None:
                    yield BasicFound(basic, code, start, end)


class _Named(NamedTuple):
    pattern: re.Pattern[str]
    family: Family
    bore: int | None
    od: int | None
    width: int | None
    rests_on: str


@cache
def _named_patterns() -> tuple[_Named, ...]:
    rows = read_rows(NAMED_TABLE, ("pattern", "family_key", "bore", "od", "width"))
    found = []
    for row in rows:
        loose = row.text("pattern").replace("(\\d", "[ -]?(\\d", 1).replace("[X*]", r" ?[X/-] ?")
        bore, od, width = (int(cell) if (cell := row.maybe_text(name)) else None for name in ("bore", "od", "width"))
        family = families()[row.text("family_key")]
        found.append(_Named(re.compile(loose + r"(?!\d)"), family, bore, od, width, f"{NAMED_TABLE}, line {row.line}"))
    return tuple(found)


def _named(text: str, start: int) -> BasicFound | None:
    """Find a designation that carries its sizes in its name (``HK1612``, ``NK20/16``)."""
    if not text[start : start + 1].isalpha():
        return None
    for named in _named_patterns():
        hit = named.pattern.match(text, start)
        if hit is not None:
            return BasicFound(_basic_of(named, hit), None, start, hit.end())
    return None


def _basic_of(named: _Named, hit: re.Match[str]) -> Basic:
    name = compact(hit[0])
    if named.width == 3 and named.od == 2 and "[X/-]" in named.pattern.pattern:
        name = re.sub(r"(?<=\d)[/X](?=\d)", "X", re.sub(r"[ -]*([X/-])[ -]*", r"\1", hit[0]).replace("-", "X"))
        name = compact(name)
    elif "[/-]" in named.pattern.pattern:
        name = re.sub(r"(?<=\d)-(?=\d)", "/", name)
    row = boundary(name)
    if row is not None:
        return Basic(name, named.family, row.bore_mm, row.od_mm, row.width_mm, row, row.note or "", row.row_name)
    bore_mm, od_mm, width_mm = (_number(hit, group) for group in (named.bore, named.od, named.width))
    return Basic(name, named.family, bore_mm, od_mm, width_mm, None, "", named.rests_on)


def _number(hit: re.Match[str], group: int | None) -> float | None:
    return float(hit[group]) if group is not None else None


_CONE_LETTERS = r"(?:J?(?:LL|LM|HM|HH|LH|EH|L|M|H)|JLM|JHM|JL|JM|JH|NA|A)"
_CONE = rf"(?:{_CONE_LETTERS}[ -]?\d{{4,6}}[A-Z]{{0,2}}|\d{{4,6}}[A-Z]{{0,2}}|\d{{3}}[A-Z]{{1,2}})"
_PAIR = re.compile(rf"({_CONE}) ?[/-] ?((?:{_CONE_LETTERS} ?)?\d{{2,6}}[A-Z]?)(?![0-9A-Z])")
_SINGLE = re.compile(r"J?(?:LL|LM|HM|HH|L|M|H)[ -]?\d{5,6}[A-Z]?(?![0-9A-Z])")


def _inch_tapered(text: str, start: int) -> BasicFound | None:
    """Find a cone and cup pair (``LM11749/LM11710``, ``LM11749/10``) or one of the two alone."""
    pair = _PAIR.match(text, start)
    if pair is not None:
        cone, cup = compact(pair[1]), _full_cup(compact(pair[1]), compact(pair[2]))
        name = f"{cone}/{cup}"
        row = boundary(name)
        numbers_only = cone.isdigit() and cup.isdigit()
        alike = cone[:2] == cup[:2] not in {"19", "20"} and len(cone) == len(cup)
        if row is not None or not numbers_only or (alike and (len(cone) >= 5 or "/" in pair[0])):
            return BasicFound(_pair_of(name, row), None, start, pair.end())
    single = _SINGLE.match(text, start)
    if single is None:
        return None
    note = "cone or cup alone: the other half decides the size"
    name = compact(single[0])
    return BasicFound(
        Basic(name, families()["trbi"], None, None, None, None, note, "known by name only"), None, start, single.end()
    )


def _pair_of(name: str, row: BoundaryRow | None) -> Basic:
    family = families()["trbi"]
    if row is None:
        return Basic(name, family, None, None, None, None, "", "inch cone and cup pair, known by name only")
    return Basic(name, family, row.bore_mm, row.od_mm, row.width_mm, row, "", row.row_name)


def _full_cup(cone: str, cup: str) -> str:
    """Return the cup's whole number where only its last digits are written: LM11749/10 is LM11749/LM11710."""
    stem = re.sub(r"[A-Z]+$", "", cone)
    if not (cup.isdigit() and len(cup) <= 3):
        return cup
    whole = stem[: -len(cup)] + cup
    return whole if not cone.isdigit() or boundary(f"{cone}/{whole}") else cup
