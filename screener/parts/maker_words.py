"""Words of the shop's makers beside a designation: blanked before anything is read as a suffix."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from screener.parts.text import normalise
from screener.specs.makers import makers

_SHORTEST_JOINED = 5
"""Behind a hyphen or slash a shorter word is rather a suffix that happens to be spelt like it."""


@dataclass(frozen=True, slots=True)
class MakerWord:
    """A maker's word in a normalised text."""

    start: int
    end: int
    note: str


def maker_words(text: str) -> tuple[MakerWord, ...]:
    """Return the words of known makers, and their known misspellings, that stand in a normalised text as whole words.

    Raises
    ------
    InputUnreadable
        If the makers' file is missing or broken.
    """
    pattern, notes = _spellings()
    return tuple(MakerWord(*hit.span(), notes[hit[0]]) for hit in pattern.finditer(text) if _whole_word(text, hit))


def blank_maker_words(text: str, words: tuple[MakerWord, ...]) -> str:
    """Return a normalised text of the same length with the words blanked."""
    for word in words:
        text = text[: word.start] + " " * (word.end - word.start) + text[word.end :]
    return text


def _whole_word(text: str, hit: re.Match[str]) -> bool:
    joined = text[hit.start() - 1 : hit.start()] in {"-", "/"} or text[hit.end() : hit.end() + 1] in {"-", "/"}
    return not joined or len(hit[0]) >= _SHORTEST_JOINED


@cache
def _spellings() -> tuple[re.Pattern[str], dict[str, str]]:
    """Return a pattern of all spellings, the longest first, and the note for each."""
    notes: dict[str, str] = {}
    known = makers()
    for maker in known:
        for wrong in maker.known_misspellings:
            notes[normalise(wrong)] = f"{normalise(wrong)}: a known misspelling of the maker's word {maker.word}"
    for maker in known:
        notes |= {normalise(word): f"{normalise(word)}: a maker's word" for word in (maker.word, *maker.also)}
    notes.pop("", None)
    longest_first = sorted(notes, key=len, reverse=True)
    choices = "|".join(map(re.escape, longest_first)) or r"(?!)"
    return re.compile(rf"(?<![0-9A-Z])(?:{choices})(?![0-9A-Z])"), notes
