"""What suffixes and prefixes mean: read from the data files, never from code.

``suffixes.csv`` has one row per reading of a code. A code with one row has one meaning. Rows marked ``by house`` are
readings of different houses that exclude each other: such a code is reported, not resolved. A row marked ``rare`` is a
second reading that is only mentioned.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from screener.specs.table import Row, read_rows

SUFFIX_TABLE = "suffixes.csv"
PREFIX_TABLE = "prefixes.csv"
_COLUMNS = ("token", "applies_to", "group", "meaning", "attributes", "certainty", "source")
_CERTAINTIES = frozenset({"usual", "by house", "rare"})


@dataclass(frozen=True, slots=True)
class Meaning:
    """One reading of a code."""

    group: str
    says: str
    attributes: tuple[tuple[str, str], ...]
    certainty: str
    source: str


@dataclass(frozen=True, slots=True)
class Code:
    """A code as it applies to one family: its readings, and whether houses disagree."""

    token: str
    readings: tuple[Meaning, ...]
    main: Meaning
    """The usual reading (of a disputed code: the first; do not rely on it)."""
    disputed: bool
    """No reading is the usual one and there is more than one."""
    dispute: str | None
    """One sentence on the readings if there is more than one."""
    row_name: str
    """The row as a result names it."""
    note: str
    """Code and meaning in words."""
    alone: bool
    """Only a code where separators stand on both sides (its letters are met inside other codes)."""
    joined: bool
    """Only a code where it is joined to the number or another code (apart, its letters are rather a name)."""


def _code(token: str, table: str, readings: tuple[Meaning, ...]) -> Code:
    main = next((reading for reading in readings if reading.certainty == "usual"), readings[0])
    dispute = f"{token}: " + "; or ".join(reading.says for reading in readings) if len(readings) > 1 else None
    disputed = len(readings) > 1 and all(reading.certainty == "by house" for reading in readings)
    return Code(
        token,
        readings,
        main,
        disputed,
        dispute,
        f"{table}: {token} ({main.source})",
        f"{token}: {main.says}",
        "(alone)" in main.group,
        "(joined)" in main.group,
    )


def _meaning(row: Row) -> tuple[str, str, Meaning]:
    certainty = row.text("certainty")
    if certainty not in _CERTAINTIES:
        raise row.broken("certainty", f"“{certainty}” is none of {', '.join(sorted(_CERTAINTIES))}.")
    pairs = []
    for part in (row.maybe_text("attributes") or "").split(";"):
        if part:
            name, found, value = part.partition("=")
            if not found:
                raise row.broken("attributes", f"“{part}” is not name=value.")
            pairs.append((name.strip(), value.strip()))
    meaning = Meaning(row.text("group"), row.text("meaning"), tuple(pairs), certainty, row.text("source"))
    return row.text("token"), row.text("applies_to"), meaning


@cache
def _rows(table: str) -> tuple[tuple[str, str, Meaning], ...]:
    return tuple(_meaning(row) for row in read_rows(table, _COLUMNS))


@cache
def codes_for(scope: str, groups: tuple[str, ...], table: str = SUFFIX_TABLE) -> Mapping[str, Code]:
    """Return the codes that may stand on a family, by token.

    Rows naming the family itself (``scope``) go before rows naming one of its ``groups``, in the order of the groups.
    """
    best: dict[str, tuple[int, list[Meaning]]] = {}
    rank = {name: place for place, name in enumerate((scope, *groups))}
    for token, applies_to, meaning in _rows(table):
        place = min((rank[name] for name in applies_to.split() if name in rank), default=None)
        if place is None:
            continue
        held = best.get(token)
        if held is None or place < held[0]:
            best[token] = (place, [meaning])
        elif place == held[0]:
            held[1].append(meaning)
    return {token: _code(token, table, tuple(readings)) for token, (_, readings) in best.items()}
