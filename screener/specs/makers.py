"""The makers this shop knows (``makers.toml``), and whether a text read on a part or box names one of them."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from screener.errors import InputUnreadable
from screener.specs.location import FOLDER, specs_folder

if TYPE_CHECKING:
    from pathlib import Path

FILE = "makers.toml"
_LISTS = ("also", "known_misspellings", "gtin_prefixes", "label_always", "countries", "reference_photos")
MatchKind = Literal["exact", "known_misspelling", "look_alike"]

# Letters that eyes and engines take for each other: half an edit. One whole edit in a word of at least six letters,
# two in a long one, still look like the word at a glance (common practice).
_ALIKE = ("O0QDC", "I1L|TJ", "S5", "Z2", "B8R", "G6C", "VWU", "MNH", "EF", "PR", "KX", "UO")
_ALIKE_COST = 0.5
_LONG_WORD = 9
_SHORT_WORD = 5


@dataclass(frozen=True, slots=True)
class Maker:
    """One maker as the shop's file describes it. Empty where the file does not say."""

    word: str
    printed: str = ""
    """The word as its logo prints it, in capitals and small letters; empty where the file does not say."""
    also: tuple[str, ...] = ()
    known_misspellings: tuple[str, ...] = ()
    gtin_prefixes: tuple[str, ...] = ()
    label_always: tuple[str, ...] = ()
    serial_pattern: str = ""
    batch_pattern: str = ""
    date_pattern: str = ""
    countries: tuple[str, ...] = ()
    suffix_habits: dict[str, str] = field(default_factory=dict)
    reference_photos: tuple[str, ...] = ()
    note: str = ""

    def issued(self, gtin: str) -> bool | None:
        """Tell whether a GTIN begins with one of the maker's prefixes; ``None`` when the file names none."""
        if not self.gtin_prefixes:
            return None
        number = gtin.zfill(14)[1:]
        return number.startswith(self.gtin_prefixes)


@dataclass(frozen=True, slots=True)
class MakerMatch:
    """A maker that a text names or nearly names."""

    maker: Maker
    kind: MatchKind
    text: str
    """The part of the text that matched, as it was written."""
    cost: float = 0.0
    """Edits between the two spellings; letters that look alike count half."""

    @property
    def name(self) -> str:
        """The maker's word as the file spells it."""
        return self.maker.word

    @property
    def exact(self) -> bool:
        """Whether the text spells the maker as the file does."""
        return self.kind == "exact"


def makers(path: Path | None = None) -> tuple[Maker, ...]:
    """Return the makers of the shop's file.

    Parameters
    ----------
    path
        Another file of the same form; the one in the folder of reference tables when not given.

    Raises
    ------
    InputUnreadable
        If the file is missing or not as its head describes.
    """
    return _shipped() if path is None else _load(path)


def match_maker(text: str, known: tuple[Maker, ...] | None = None) -> MakerMatch | None:
    """Find the maker that a text names.

    Parameters
    ----------
    text
        A line of a label, a mark, or a word.
    known
        Makers to look among; those of the shop's file when not given.

    Returns
    -------
    MakerMatch or None
        ``exact`` when the word stands in the text; ``known_misspelling`` or ``look_alike`` when nearly;
        ``None`` when no maker known here is near: an unknown maker is not a suspect one.
    """
    known = makers() if known is None else known
    words = _words(text)
    return _exact(words, known) or _misspelling(words, known) or _look_alike(words, known)


def maker_name(text: str) -> str:
    """The name of the maker that a text names, or the text itself in capitals where no maker known here is near."""
    match = match_maker(text)
    return match.name if match is not None else text.strip().upper()


def _exact(words: tuple[str, ...], known: tuple[Maker, ...]) -> MakerMatch | None:
    wholes = ((maker, spelling) for maker in known for spelling in (maker.word, *maker.also))
    found = (MakerMatch(maker, "exact", spelling) for maker, spelling in wholes if _stands_in(spelling, words))
    return next(found, None)


def _misspelling(words: tuple[str, ...], known: tuple[Maker, ...]) -> MakerMatch | None:
    wrongs = ((maker, spelling) for maker in known for spelling in maker.known_misspellings)
    found = (
        MakerMatch(maker, "known_misspelling", spelling, spelling_distance(spelling, maker.word))
        for maker, spelling in wrongs
        if _stands_in(spelling, words)
    )
    return next(found, None)


def _look_alike(words: tuple[str, ...], known: tuple[Maker, ...]) -> MakerMatch | None:
    pairs = ((spelling_distance(word, maker.word), word, maker) for word in words for maker in known)
    near = [(cost, word, maker) for cost, word, maker in pairs if cost <= _most_edits(maker.word)]
    if not near:
        return None
    cost, word, maker = min(near, key=lambda found: found[0])
    return MakerMatch(maker, "look_alike", word, cost)


def spelling_distance(read: str, meant: str) -> float:
    """Return the edit distance of two words in capitals; a swap of letters that look alike counts half.

    Two neighbouring letters in the wrong order count one.
    """
    if abs(len(read) - len(meant)) > 2:
        return float(max(len(read), len(meant)))
    before: list[float] = []
    row = [float(j) for j in range(len(meant) + 1)]
    for i, have in enumerate(read, 1):
        new = [float(i)]
        for j, want in enumerate(meant, 1):
            best = min(row[j] + 1, new[-1] + 1, row[j - 1] + _swap_cost(have, want))
            if i > 1 and j > 1 and have == meant[j - 2] and want == read[i - 2]:
                best = min(best, before[j - 2] + 1)
            new.append(best)
        before, row = row, new
    return row[-1]


def _swap_cost(have: str, want: str) -> float:
    if have == want:
        return 0.0
    return _ALIKE_COST if any(have in group and want in group for group in _ALIKE) else 1.0


def _most_edits(word: str) -> float:
    if len(word) < _SHORT_WORD:
        return _ALIKE_COST
    return 2.0 if len(word) >= _LONG_WORD else 1.0


def _words(text: str) -> tuple[str, ...]:
    return tuple(word for word in re.split(r"[^0-9A-ZÀ-Þ|]+", text.upper()) if word)


def _stands_in(spelling: str, words: tuple[str, ...]) -> bool:
    wanted = _words(spelling)
    return any(words[start : start + len(wanted)] == wanted for start in range(len(words) - len(wanted) + 1))


@cache
def _shipped() -> tuple[Maker, ...]:
    return _load(specs_folder() / FILE)


def _load(path: Path) -> tuple[Maker, ...]:
    try:
        with path.open("rb") as file:
            rows = tomllib.load(file).get("maker", [])
    except (OSError, ValueError) as error:
        raise _broken(f"The makers' file cannot be read ({error}).", path) from error
    return tuple(_maker(row, path) for row in rows)


def _maker(row: dict[str, Any], path: Path) -> Maker:
    word = str(row.get("word", "")).strip().upper()
    if not word:
        raise _broken("A maker has no word.", path)
    for name in ("serial_pattern", "batch_pattern"):
        _compiles(_text(row, name), f"{name} of {word}", path)
    lists = {name: row.get(name, []) for name in _LISTS}
    if any(not isinstance(value, list) for value in lists.values()):
        raise _broken(f"{word}: one of {', '.join(_LISTS)} is not a list in brackets.", path)
    also, wrong, prefixes, always, countries, photos = (tuple(map(str, value)) for value in lists.values())
    return Maker(
        word=word,
        printed=_printed(row, word, path),
        also=also,
        known_misspellings=wrong,
        gtin_prefixes=prefixes,
        label_always=always,
        serial_pattern=_text(row, "serial_pattern"),
        batch_pattern=_text(row, "batch_pattern"),
        date_pattern=_text(row, "date_pattern"),
        countries=countries,
        suffix_habits={str(key): str(value) for key, value in dict(row.get("suffix_habits", {})).items()},
        reference_photos=photos,
        note=_text(row, "note"),
    )


def _printed(row: dict[str, Any], word: str, path: Path) -> str:
    printed = _text(row, "printed").strip()
    if printed and printed.upper() != word:
        raise _broken(f"{word} cannot be printed “{printed}”: other letters.", path)
    return printed


def _text(row: dict[str, Any], name: str) -> str:
    return str(row.get(name, ""))


def _compiles(pattern: str, what: str, path: Path) -> None:
    try:
        re.compile(pattern)
    except re.error as error:
        raise _broken(f"The {what} is not a regular expression ({error}).", path) from error


def _broken(says: str, path: Path) -> InputUnreadable:
    where = f"{FOLDER}/{path.name}" if path.parent.name == FOLDER else str(path)
    return InputUnreadable(says, where=where, next_step="Its head says what belongs there.", code="broken_row")
