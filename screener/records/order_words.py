"""What order lists call their columns and how they say a duty, from ``reference_specs/order_headers.toml``."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from screener.specs.location import specs_folder

TABLE = "order_headers.toml"
NEED_COLUMNS = ("designation", "size", "article", "description")
"""Meanings that say what is needed, best first."""
_BETWEEN_DUTIES = re.compile(r"[,;/+&|]|\b(?:and|und|et|y|e|en|och|og)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class OrderWords:
    """Words as `plain` leaves them, each with what it means."""

    columns: Mapping[str, str]
    duty: Mapping[str, str]
    yes: frozenset[str]
    negations: frozenset[str]
    """Words that turn a duty round (``not wet``)."""
    totals: frozenset[str]
    beside_totals: frozenset[str]
    """Words that may stand beside a total (``netto``, ``EUR``)."""


@cache
def order_words() -> OrderWords:
    """Return the words of the table; read once."""
    table = tomllib.loads((specs_folder() / TABLE).read_text("utf-8"))
    return OrderWords(
        columns=_by_word(table["columns"]),
        duty=_by_word(table["duty"]),
        yes=frozenset(table["answers"]["yes"]),
        negations=frozenset(map(plain, table["answers"]["not"])),
        totals=frozenset(map(plain, table["left_out"]["totals"])),
        beside_totals=frozenset(map(plain, table["left_out"]["beside_totals"])),
    )


def _by_word(groups: Mapping[str, Sequence[str]]) -> dict[str, str]:
    return {plain(word): meaning for meaning, words in groups.items() for word in words}


def plain(text: str) -> str:
    """Return ``text`` without accents, capitals and punctuation: ``Stück-Preis`` becomes ``stuck preis``."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    letters = "".join(sign for sign in folded if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^\w#]|_", " ", letters).split())


def column_meaning(heading: str) -> str | None:
    """Return what a heading names (a key of ``[columns]``), or None."""
    outside = re.sub(r"[(\[].*?[)\]]", " ", heading)
    words = order_words().columns
    for candidate in (heading, outside, *outside.split("/"), *re.findall(r"[(\[](.*?)[)\]]", heading)):
        meaning = words.get(plain(candidate))
        if meaning:
            return meaning
    return None


def header_meanings(row: Sequence[str]) -> dict[int, str]:
    """Return the columns of ``row`` that are headings: column number to meaning.

    Several columns can say what is needed; of any other meaning the first counts.
    """
    found: dict[int, str] = {}
    for number, cell in enumerate(row):
        meaning = column_meaning(cell) if cell and len(cell) < 60 else None
        if meaning and (meaning in NEED_COLUMNS or meaning not in found.values()):
            found[number] = meaning
    return found


def names_a_need(meanings: Mapping[int, str]) -> bool:
    """Whether one of the columns says what is needed."""
    return any(meaning in NEED_COLUMNS for meaning in meanings.values())


def duty_words(text: str) -> frozenset[str]:
    """Return the duties that a text names: ``wash-down area, hot`` gives ``wet`` and ``hot``; ``not wet`` none."""
    return frozenset(meaning for piece in _duty_pieces(text) for meaning in _duties_of(piece))


def unknown_duties(text: str) -> tuple[str, ...]:
    """Return the pieces of a text about duty in which no duty is known: ``nass, Salznebel`` gives ``Salznebel``."""
    return tuple(piece for piece in _duty_pieces(text) if not _duties_of(piece))


def _duty_pieces(text: str) -> list[str]:
    return [piece.strip() for piece in _BETWEEN_DUTIES.split(text) if plain(piece)]


def _duties_of(piece: str) -> frozenset[str]:
    words = order_words()
    padded = f" {plain(piece)} "
    if any(f" {word} " in padded for word in words.negations):
        return frozenset()
    return frozenset(meaning for word, meaning in words.duty.items() if f" {word} " in padded)


def means_yes(text: str) -> bool:
    """Whether a cell says yes."""
    return plain(text) in order_words().yes
