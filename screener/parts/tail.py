"""Reading what follows a basic designation: chunks between separators, each cut into known codes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from screener.parts.basic_scan import begins_basic
from screener.parts.families import Family
from screener.parts.standing_apart import is_doubtful, stands_apart
from screener.parts.vocabulary import Code, codes_for
from screener.parts.written_bore import take_written_bore

_CHUNK = re.compile(r"[^ \-/,;.+_()\[\]:|'\"=]+")
_COUNTED = re.compile(r"2[ \-]?(?=(?:RS|RZ|Z|HRS|BRS|NSE|NKE|RU|RD|LS|CS|RK|RV)[A-Z0-9]*)")
_PARTED = re.compile(r"([A-Z0-9]{1,3})[ \-/]([A-Z0-9])(?:[ \-/]([A-Z0-9]))?(?![A-Z0-9])")
_SEPARATOR = re.compile(r"[ \-/]")
_LONGEST_PART = 3
_TAKES_A_FIGURE = frozenset({"C", "P"})
"""Clearance and accuracy: `C 3`, `P 6`. Elsewhere a figure on its own is rather a quantity or the next position."""
_WORST = 10_000
_MAX_CHUNK = 24
_MAX_SINGLE_LETTERS = 2
_RANKS = {"dimensions": 0, "design": 1, "bore": 2, "raceway": 2, "closure": 3, "snap ring": 4, "cage": 5}
_LAST_RANK = 6
_COMMON_LETTERS = frozenset({"E", "K"})
_HEAT = re.compile(r"S\d")


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the tail: a code that was understood, or text that was not (``code`` None)."""

    start: int
    end: int
    text: str
    code: Code | None
    word: bool = False
    """Letters that stand apart and are rather a word than codes."""


@dataclass(frozen=True, slots=True)
class Tail:
    """All pieces behind a basic designation, and an inch bore if one is written there."""

    pieces: tuple[Piece, ...]
    inch_bore_mm: float | None = None

    @property
    def unknown(self) -> tuple[Piece, ...]:
        """The pieces nobody could read."""
        return tuple(piece for piece in self.pieces if piece.code is None)


@lru_cache(maxsize=4096)
def cut(chunk: str, scope: str, groups: tuple[str, ...]) -> tuple[tuple[str, Code | None], ...]:
    """Cut a chunk without separators into codes: least text left over, then fewest codes.

    >>> [text for text, code in cut("2RS1C3", "dgb", ("ball", "rolling"))]
    ['2RS1', 'C3']
    """
    known = codes_for(scope, groups)
    if chunk in known:
        return ((chunk, known[chunk]),)
    if len(chunk) > _MAX_CHUNK:
        return ((chunk, None),)
    best: list[tuple[int, tuple[str, ...]]] = [(0, ())]
    for end in range(1, len(chunk) + 1):
        options: list[tuple[int, tuple[str, ...]]] = [(_WORST * end, (chunk[:end],))]
        for start in range(max(0, end - 8), end):
            token = chunk[start:end]
            if token in known and not known[token].alone and best[start][0] < _WORST:
                # A code of one letter explains little: two longer codes are likelier than one long and two letters.
                options.append((best[start][0] + (12 if len(token) > 1 else 15), (*best[start][1], token)))
        best.append(min(options, key=lambda option: option[0]))
    cost, tokens = best[-1]
    if cost >= _WORST or _guesswork([known[token] for token in tokens]):
        return _with_gaps(chunk, known)
    return tuple((token, known[token]) for token in tokens)


def _in_order(one: Code, two: Code) -> bool:
    """Say whether two neighbouring single letters stand as the trade writes them: design, bore, closure, ring, cage.

    MK (cage, tapered bore) is met too. Other pairs are more likely one code that nobody here knows.
    """
    if len(one.token) > 1 or len(two.token) > 1:
        return True
    first, second = (_RANKS.get(code.main.group, _LAST_RANK) for code in (one, two))
    return first < second or (one.main.group == "cage" and two.main.group == "bore")


def _guesswork(codes: list[Code]) -> bool:
    """Say whether a cut rests on single letters that mean too much: three of them, or a disputed one beside another."""
    single = [code for code in codes if len(code.token) == 1]
    doubtful = any(code.disputed for code in single) and len(single) > 1
    hidden_heat = any(one in single and _HEAT.fullmatch(two.token) for one, two in pairwise(codes))
    if hidden_heat or doubtful or not all(_in_order(one, two) for one, two in pairwise(codes)):
        return True
    return sum(code.token not in _COMMON_LETTERS for code in single) > _MAX_SINGLE_LETTERS


def _with_gaps(chunk: str, known: Mapping[str, Code]) -> tuple[tuple[str, Code | None], ...]:
    """Cut a chunk that is not wholly known: codes that do not come about by chance, and what lies between them."""
    if chunk.isalpha():
        return ((chunk, None),)
    best: list[tuple[int, tuple[tuple[str, Code | None], ...]]] = [(0, ())]
    for end in range(1, len(chunk) + 1):
        options = [_longer_gap(best[end - 1], chunk[end - 1])]
        for start in range(max(0, end - 8), end - 1):
            code = known.get(chunk[start:end])
            if code is not None and not code.alone and _telling(chunk[start:end]):
                options.append((best[start][0] + 12, (*best[start][1], (chunk[start:end], code))))
        best.append(min(options, key=lambda option: option[0]))
    return best[-1][1]


def _telling(token: str) -> bool:
    """Say whether a code is long or mixed enough not to be part of some other word (TA in STAINLESS)."""
    return len(token) > 2 or not token.isalpha()


def _longer_gap(
    before: tuple[int, tuple[tuple[str, Code | None], ...]], char: str
) -> tuple[int, tuple[tuple[str, Code | None], ...]]:
    cost, pieces = before
    if pieces and pieces[-1][1] is None:
        return cost + 40, (*pieces[:-1], (pieces[-1][0] + char, None))
    return cost + 60, (*pieces, (char, None))


def read_tail(text: str, start: int, family: Family, *, stop_at_unknown: bool = False) -> Tail:
    """Read the text from ``start`` on as suffixes of a family.

    Parameters
    ----------
    text
        Normalised text.
    stop_at_unknown
        End before the first chunk that is not wholly understood (for a search inside a longer line).
    """
    masked, inch_mm = take_written_bore(text, start, family)
    pieces: list[Piece] = []
    for begin, chunk in _chunks(masked, start, codes_for(family.scope, family.groups)):
        read = tuple(_placed(begin, chunk, family, apart=stands_apart(masked, begin)))
        if not stop_at_unknown and begin and any(piece.code is None for piece in read) and begins_basic(text, begin):
            pieces.append(Piece(begin, len(text.rstrip()), text[begin:].rstrip(), None))
            break
        if stop_at_unknown and (any(piece.code is None for piece in read) or begins_basic(text, begin)):
            break
        pieces.extend(read)
    return Tail(tuple(pieces), inch_mm)


def _placed(begin: int, chunk: str, family: Family, *, apart: bool) -> Iterator[Piece]:
    place = begin
    joined = _SEPARATOR.sub("", chunk)
    gap = len(chunk) - len(joined)
    found = cut(joined, family.scope, family.groups)
    codes = [code for _, code in found if code is not None]
    if apart and len(codes) == len(found) and is_doubtful(chunk, codes, family.scope):
        yield Piece(begin, begin + len(chunk), chunk, None, word=True)
        return
    for token, code in found:
        end = place + len(token) + gap
        gap = 0
        yield Piece(place, end, token, code)
        place = end


def _chunks(text: str, start: int, known: Mapping[str, Code]) -> Iterator[tuple[int, str]]:
    """Yield chunks with their places; ``2-RS``, ``C 3`` and ``L L U`` stay one chunk."""
    place = start
    while True:
        hit = _CHUNK.search(text, place)
        if hit is None:
            return
        begin, end = hit.span()
        counted = _COUNTED.match(text, begin) if hit[0] == "2" else None
        if counted is not None:
            longer = _CHUNK.match(text, counted.end())
            end = longer.end() if longer else end
        elif end - begin <= _LONGEST_PART:
            end = _end_of_parted(text, begin, end, known)
        yield begin, text[begin:end]
        place = end


def _end_of_parted(text: str, begin: int, end: int, known: Mapping[str, Code]) -> int:
    """Return where a code ends that is written in parts (``C 3``, ``DD U``, ``S/S``), or ``end``."""
    hit = _PARTED.match(text, begin)
    if hit is None:
        return end
    for last in (3, 2):
        parts = [hit[group] for group in range(1, last + 1) if hit[group]]
        if len(parts) == last and _one_code(parts, known):
            return hit.end(last)
    return end


def _one_code(parts: list[str], known: Mapping[str, Code]) -> bool:
    """Say whether parts are one code: together they are known, and the first alone says little or is disputed."""
    whole = known.get("".join(parts)) or known.get("/".join(parts))
    alone = known.get(parts[0])
    if parts[-1].isdigit() and parts[0] not in _TAKES_A_FIGURE:
        return False
    doubtful = alone is None or alone.disputed or len(parts[0]) == 1
    rest_unknown = any(part not in known or known[part].disputed for part in parts[1:])
    return whole is not None and not whole.disputed and doubtful and (rest_unknown or parts[0] not in known)
