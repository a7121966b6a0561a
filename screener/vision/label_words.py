"""The words of printed labels (``label_words.toml``): key words, units, months, countries, words that name no maker."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import cache

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder
from screener.specs.makers import spelling_distance

FILE = "label_words.toml"
_MOST_KEY_WORDS = 3
_SHORTEST_MISREAD = 6
_LONG_KEY = 9
_SPECIAL = str.maketrans({"ß": "SS", "Ł": "L", "ł": "L", "№": "NO", "º": "O", "°": "O", "’": "'", "：": ":"})


@dataclass(frozen=True, slots=True)
class KeyHit:
    """A key word found in a line; what follows ``end`` is its value."""

    field: str
    start: int
    end: int
    marked: bool
    """Whether a colon or the like follows, so that the word surely introduces a value."""


@dataclass(frozen=True, slots=True)
class LabelWords:
    """All words of the file, in capitals without accents."""

    keys: dict[str, str]
    """Key word to field; ``other`` for words that introduce something that has no field."""
    pieces: frozenset[str]
    not_makers: frozenset[str]
    months: dict[str, int]
    countries: dict[str, str]
    pattern: re.Pattern[str]

    def hits(self, text: str) -> tuple[KeyHit, ...]:
        """Find key words in a line given as :func:`plain` text, longest first, left to right."""
        found = (match for match in self.pattern.finditer(text))
        return tuple(
            KeyHit(self.keys[_squeezed(match[1])], match.start(), match.end(), marked=bool(match[2].strip()))
            for match in found
        )

    def misread(self, text: str) -> KeyHit | None:
        """Find a long key word at the beginning of a line that was read with a wrong letter or two.

        Engines stumble over accents (``Quantitø``); a letter outside A to Z counts half a slip.
        """
        words = list(re.finditer(r"[^\W\d_]+(?:[.\-'][^\W\d_]+)*", text))[:_MOST_KEY_WORDS]
        if not words or text[: words[0].start()].strip():
            return None
        for count in range(len(words), 0, -1):
            end = words[count - 1].end()
            key = self._nearest_key(_squeezed(text[words[0].start() : end]))
            if key is not None:
                mark = re.compile(r"[ .]*[:=#]?[ ]*").match(text, end)
                stop = mark.end() if mark else end
                return KeyHit(self.keys[key], words[0].start(), stop, marked=text[end:stop].strip() != "")
        return None

    def _nearest_key(self, read: str) -> str | None:
        if len(read) < _SHORTEST_MISREAD:
            return None
        slips = {key: _slips(read, key) for key in self.keys if len(key) >= _SHORTEST_MISREAD and key[0] == read[0]}
        best = min(slips, key=lambda key: slips[key], default=None)
        return best if best is not None and slips[best] <= (1.5 if len(best) >= _LONG_KEY else 1.0) else None


def _slips(read: str, key: str) -> float:
    foreign = sum(not letter.isascii() for letter in read)
    # Without blanks: an engine that loses an accent often loses the gap beside it.
    return spelling_distance(read.replace(" ", ""), key.replace(" ", "")) - 0.5 * foreign


def plain(text: str) -> str:
    """Return the text in capitals without accents, of the same length as long as no letter needs two."""
    text = text.translate(_SPECIAL).upper()
    parts = unicodedata.normalize("NFD", text)
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


@cache
def label_words() -> LabelWords:
    """Load the words once.

    Raises
    ------
    InputUnreadable
        If the file is missing or is not TOML of the form that its head describes.
    """
    try:
        with (specs_folder() / FILE).open("rb") as file:
            table = tomllib.load(file)
        return _words(table)
    except (OSError, ValueError, KeyError, AttributeError, TypeError) as error:
        raise InputUnreadable(
            f"The words of labels cannot be read ({error.__class__.__name__}: {error}).",
            where=f"{FOLDER}/{FILE}",
            next_step="Restore the file from the repository.",
            code="tables_missing",
        ) from error


def _words(table: dict[str, dict[str, list[str]]]) -> LabelWords:
    keys = {_squeezed(plain(word)): field for field, words in table["keys"].items() for word in words}
    return LabelWords(
        keys=keys,
        pieces=frozenset(plain(word) for word in table["units"]["pieces"]),
        not_makers=frozenset(plain(word) for word in table["not_makers"]["words"]),
        months={plain(word): int(month) for month, words in table["months"].items() for word in words},
        countries={plain(word): code for code, words in table["countries"].items() for word in words},
        pattern=_key_pattern(keys),
    )


def _key_pattern(keys: dict[str, str]) -> re.Pattern[str]:
    longest_first = sorted(keys, key=len, reverse=True)
    # A blank in a key may be read as none, and "No" may carry a stop: "Batch No.", "BatchNo".
    words = "|".join(re.escape(key).replace(r"\ ", r"[ .\-]*") for key in longest_first)
    return re.compile(rf"(?<![A-Z0-9])({words})(?![A-Z])((?:[ ]?(?:NO|NR|N)(?=[.: ]))?\.?[ ]*[:=#]?[ ]*)")


def _squeezed(key: str) -> str:
    """Return a key as it stands in the table, whatever stands between its words."""
    return re.sub(r"[ .\-]+", " ", key).strip()
