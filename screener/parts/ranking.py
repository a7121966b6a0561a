"""From a noisy reading to the standing designations it may stand for.

Basic designations and suffix combinations are kept apart, each under a key in which look-alikes are one character. A
reading is split at every place; most are found by two dictionary look-ups, the rest through keys with one character
left out on either side (which finds one missing, added or wrong character in each half).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from typing import Generic, TypeAlias, TypeVar

from screener.parts.basics import Basic, lattice
from screener.parts.explaining import explain_spelling
from screener.parts.look_alikes import bare, classed, distance
from screener.parts.model import RankedReading
from screener.parts.seal_ranking import seal_candidates
from screener.parts.suffix_sets import standing_tails
from screener.parts.tail import cut
from screener.parts.text import normalise

T = TypeVar("T")
DEFAULT_MAX_COST = 1.6
_EXACT = 0.05
_LONGEST = 40
_SHORTEST = 3
_COMMON_SERIES = ("60", "62", "63", "68", "69")
_COMMON_TAILS = frozenset({"", "2RS", "ZZ", "2Z", "2RS1", "2RSR", "2RSH", "LLU", "DDU", "C3", "2RSC3", "ZZC3", "2ZC3"})


class _Lexicon(Generic[T]):
    """Words under look-alike keys, also with any one character left out."""

    def __init__(self, words: Iterable[tuple[str, T]]) -> None:
        self.exact: dict[str, list[tuple[str, T]]] = {}
        self.shorter: dict[str, list[tuple[str, T]]] = {}
        for word, thing in words:
            key = classed(word)
            self.exact.setdefault(key, []).append((word, thing))
            for less in _left_out(key):
                self.shorter.setdefault(less, []).append((word, thing))

    def near(self, key: str) -> Iterator[tuple[str, T]]:
        """Yield the words within one edit of a key (some twice, some further off)."""
        yield from self.exact.get(key, ())
        yield from self.shorter.get(key, ())
        for less in _left_out(key):
            yield from self.exact.get(less, ())
            yield from self.shorter.get(less, ())


def _left_out(key: str) -> set[str]:
    return {key[:place] + key[place + 1 :] for place in range(len(key))}


@cache
def _heads() -> _Lexicon[Basic]:
    return _Lexicon((bare(key), basic) for key, basic in lattice().items())


@cache
def _tails() -> _Lexicon[str]:
    return _Lexicon((bare(tail), tail) for tail in standing_tails())


def rank_readings(text: str, *, limit: int = 5, max_cost: float = DEFAULT_MAX_COST) -> tuple[RankedReading, ...]:
    """Return the standing designations a noisy reading may stand for, the likeliest first.

    Parameters
    ----------
    text
        What was read: look-alikes confused, separators lost, a character missing, added or wrong.
    limit
        How many to return at most.
    max_cost
        Weighted edit distance above which a candidate is dropped. Look-alikes cost 0.1 to 0.4, other edits 1.

    Returns
    -------
    tuple of RankedReading
        Empty if nothing stands near enough. Rarer families and suffixes carry a small cost of their own.
    """
    return _ranked(normalise(str(text))[:_LONGEST].strip(), limit, max_cost)


@lru_cache(maxsize=4096)
def _ranked(text: str, limit: int, max_cost: float) -> tuple[RankedReading, ...]:
    read = bare(text)
    if len(read) < _SHORTEST:
        return ()
    costs: dict[str, float] = {}
    for spelling, cost in seal_candidates(text, max_cost):
        costs[spelling] = min(cost, costs.get(spelling, max_cost))
    _score(text, read, _look_alike_only(read), max_cost, costs)
    if min(costs.values(), default=max_cost) > _EXACT:
        _score(text, read, _one_edit_off(read, max_cost), max_cost, costs)
    best = sorted(costs.items(), key=lambda item: (item[1], len(item[0]), item[0]))
    readings = (RankedReading(spelling, round(cost, 3), explain_spelling(spelling)) for spelling, cost in best)
    return tuple(_understood(readings, limit))


def _understood(readings: Iterable[RankedReading], limit: int) -> Iterator[RankedReading]:
    count = 0
    for reading in readings:
        if count >= limit:
            return
        if reading.explained.understood:
            count += 1
            yield reading


_Candidate: TypeAlias = tuple[str, Basic, str, str]


def _look_alike_only(read: str) -> Iterator[_Candidate]:
    heads, tails, key = _heads().exact, _tails().exact, classed(read)
    for split in range(2, len(key) + 1):
        for head, basic in heads.get(key[:split], ()):
            for tail, spelt in tails.get(key[split:], ()):
                yield head, basic, tail, spelt


def _one_edit_off(read: str, max_cost: float) -> Iterator[_Candidate]:
    """Yield candidates with edits in the head and an exact tail, or the reverse."""
    heads, tails, key = _heads(), _tails(), classed(read)
    for split in range(2, len(key) + 1):
        exact_tails = tails.exact.get(key[split:])
        if exact_tails:
            for head, basic in _near_heads(read[:split], max_cost):
                for tail, spelt in exact_tails:
                    yield head, basic, tail, spelt
        exact_heads = heads.exact.get(key[:split])
        if exact_heads and split < len(key):
            for tail, spelt in _near_tails(read[split:], max_cost):
                for head, basic in exact_heads:
                    yield head, basic, tail, spelt


@lru_cache(maxsize=2048)
def _near_heads(part: str, max_cost: float) -> tuple[tuple[str, Basic], ...]:
    near = dict(_heads().near(classed(part)))
    return tuple(item for item in near.items() if distance(part, item[0], max_cost) <= max_cost)


@lru_cache(maxsize=2048)
def _near_tails(part: str, max_cost: float) -> tuple[tuple[str, str], ...]:
    near = dict(_tails().near(classed(part)))
    return tuple(item for item in near.items() if distance(part, item[0], max_cost) <= max_cost)


def _score(text: str, read: str, candidates: Iterable[_Candidate], max_cost: float, costs: dict[str, float]) -> None:
    seen: set[tuple[str, str]] = set()
    for head, basic, tail, spelt in candidates:
        if (head, tail) in seen:
            continue
        seen.add((head, tail))
        if tail and not _takes(basic, tail):
            continue
        rarity = _rarity(basic, tail)
        cost = distance(read, head + tail, max_cost - rarity) + rarity
        if cost <= max_cost:
            spelling = _spelling(text, read, basic, head, spelt)
            costs[spelling] = min(cost, costs.get(spelling, cost))


def _takes(basic: Basic, tail: str) -> bool:
    family = basic.family
    return all(code is not None for _, code in cut(tail, family.scope, family.groups))


def _rarity(basic: Basic, tail: str) -> float:
    """Return a small cost for what is seldom met: it decides between readings that are equally near."""
    deep_groove = basic.family.key in {"dgb", "dgbm"}
    common = deep_groove and basic.name.startswith(_COMMON_SERIES) and "/" not in basic.name
    cost = 0.0 if common else 0.04 if deep_groove else 0.08
    if basic.row is None:
        cost += 0.3
    return cost + (0.0 if tail in _COMMON_TAILS else 0.02)


def _spelling(text: str, read: str, basic: Basic, head: str, tail: str) -> str:
    """Return basic and suffixes parted as they were read, or by the usual signs where nothing parts them."""
    if not tail:
        return basic.name
    split = _separator_at(text, len(head)) if len(read) == len(head) + len(bare(tail)) else ""
    sign = split or ("-" if tail[0].isdigit() else " ")
    return f"{basic.name}{sign}{tail}"


def _separator_at(text: str, count: int) -> str:
    """Return the separators behind the first ``count`` characters that are none."""
    for char in text:
        if bare(char):
            count -= 1
            if count < 0:
                return ""
        elif count == 0:
            return char if char in " -/" else " "
    return ""
