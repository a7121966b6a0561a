"""Reading what follows a basic designation: chunks between separators, each cut into known codes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from screener.parts.basic_scan import begins_basic
from screener.parts.families import Family
from screener.parts.vocabulary import Code, codes_for

_CHUNK = re.compile(r"[^ \-/,;.+_()\[\]:|'\"=]+")
_COUNTED = re.compile(r"2[ \-]?(?=(?:RS|RZ|Z|HRS|BRS|NSE|NKE|RU|RD|LS|CS|RK|RV)[A-Z0-9]*)")
_FRACTION = re.compile(r"(?:(\d)[- ])?(\d{1,2})/(\d{1,2})(?![0-9A-Z]*[A-Z])")
_SIXTEENTHS = re.compile(r" ?- ?(\d{1,2})(?=$|[^0-9A-Z.])")
_INCHES_AND_SIXTEENTHS = re.compile(r" ?- ?([0-4])(0\d|1[0-5])(?=$|[^0-9A-Z.])")
_INCH_MM = 25.4
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
    masked, inch_mm = _inch_bore(text, start, family)
    pieces: list[Piece] = []
    for begin, chunk in _chunks(masked, start):
        read = tuple(_placed(begin, chunk, family))
        if not stop_at_unknown and begin and any(piece.code is None for piece in read) and begins_basic(text, begin):
            pieces.append(Piece(begin, len(text.rstrip()), text[begin:].rstrip(), None))
            break
        if stop_at_unknown and (any(piece.code is None for piece in read) or begins_basic(text, begin)):
            break
        pieces.extend(read)
    return Tail(tuple(pieces), inch_mm)


def _placed(begin: int, chunk: str, family: Family) -> Iterator[Piece]:
    place = begin
    joined = chunk.replace(" ", "").replace("-", "")
    gap = len(chunk) - len(joined)
    for token, code in cut(joined, family.scope, family.groups):
        end = place + len(token) + gap
        gap = 0
        yield Piece(place, end, token, code)
        place = end


def _chunks(text: str, start: int) -> Iterator[tuple[int, str]]:
    """Yield chunks with their places; ``2-RS`` and ``2 RS`` stay one chunk."""
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
        yield begin, text[begin:end]
        place = end


def _inch_bore(text: str, start: int, family: Family) -> tuple[str, float | None]:
    """Take an inch bore out of the tail: ``-5/8``, or ``-10`` in sixteenths right behind the number."""
    if family.scope not in {"dgb", "dgbm", "insert"}:
        return text, None
    fraction = _FRACTION.search(text, start) if "/" in text[start:] else None
    if fraction is not None and _plausible(fraction):
        whole = int(fraction[1] or 0)
        # The written whole number belongs to the bore only if no code ends there (2RS-5/8 has none).
        inches = whole + int(fraction[2]) / int(fraction[3])
        return _blank(text, fraction.start(), fraction.end()), round(inches * _INCH_MM, 4)
    coded = _INCHES_AND_SIXTEENTHS.match(text, start) if family.scope == "insert" else None
    if coded is not None:
        inches = int(coded[1]) + int(coded[2]) / 16
        return _blank(text, coded.start(), coded.end()), round(inches * _INCH_MM, 4)
    sixteenths = _SIXTEENTHS.match(text, start)
    if sixteenths is not None and 4 <= int(sixteenths[1]) <= 63:
        return _blank(text, sixteenths.start(), sixteenths.end()), round(int(sixteenths[1]) / 16 * _INCH_MM, 4)
    return text, None


def _plausible(fraction: re.Match[str]) -> bool:
    top, bottom = int(fraction[2]), int(fraction[3])
    return bottom in {2, 4, 8, 16, 32} and 0 < top < bottom


def _blank(text: str, start: int, end: int) -> str:
    return text[:start] + " " * (end - start) + text[end:]
