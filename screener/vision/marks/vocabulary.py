"""What a mark may say, for leading the reading: numbers in the tables, then any suffixes.

Only the number is held to the table. The rest of a mark is read freely and judged afterwards by how much of it is made
of known suffixes, because houses write suffixes that no table has.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from screener.specs.boundary import BoundaryRow, boundary_rows
from screener.specs.seals import seal_sizes
from screener.specs.table import read_rows

_TAIL = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/. "
_PER_UNKNOWN_SIGN = 2.5
_USUAL_SUFFIX, _OTHER_SUFFIX, _LONE_LETTER = 0.1, 1.2, 1.8
_LONGEST_SUFFIX = 5
_ODD_SPELLING = 1.0
_NO_MARK = 99.0
_COMMON_FAMILY = "deep groove ball"
_RARE_FAMILY_COST = 3.0
_SHORT_NUMBER_COST = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Vocabulary:
    """Words (numbers or sizes) as a prefix map, with a cost in nats for the rare ones."""

    nodes: dict[str, str]
    """Prefix -> characters that may follow."""
    words: dict[str, float]
    """Complete word -> its cost."""
    tails: bool
    """Whether suffixes may follow a word."""

    def may_follow(self, prefix: str) -> str | None:
        """Characters that may follow a prefix."""
        return _may_follow(self, prefix)

    def cost(self, text: str) -> float | None:
        """How odd a text is as a mark, in nats; ``None`` if it does not begin with a word."""
        begins = [n for n in range(len(text), 1, -1) if text[:n] in self.words]
        if not begins:
            return None
        costs = [
            self.words[text[:n]] + (_tail_cost(text[n:]) if self.tails else _NO_MARK * (n < len(text))) for n in begins
        ]
        return min(costs)


@lru_cache(maxsize=1 << 16)
def _may_follow(vocabulary: Vocabulary, prefix: str) -> str:
    """Kept, because the readings of one mark ask for the same beginnings again and again."""
    allowed = vocabulary.nodes.get(prefix, "")
    if vocabulary.tails:
        tails = {prefix[n:] for n in range(2, len(prefix) + 1) if prefix[:n] in vocabulary.words}
        allowed += "".join(c for c in _TAIL if c not in allowed and any(c in _goes_on(tail) for tail in tails))
    return allowed


@cache
def bearing_vocabulary() -> Vocabulary:
    """Numbers of all rolling bearings in the table of boundary dimensions."""
    return _vocabulary(
        {row.designation.upper(): _number_cost(row) for row in boundary_rows() if len(row.designation) > 2},
        tails=True,
    )


def _number_cost(row: BoundaryRow) -> float:
    """Nats against a number: rare families, and three characters, which scratches make up easily."""
    rare = 0.0 if row.family == _COMMON_FAMILY else _RARE_FAMILY_COST
    return rare + (_SHORT_NUMBER_COST if len(row.designation) <= 3 else 0.0)


@cache
def seal_vocabulary() -> Vocabulary:
    """Sizes of the standard shaft seals, the three numbers parted by a sign."""
    words: dict[str, float] = {}
    for row in seal_sizes():
        shaft, housing, width = (f"{value:g}" for value in (row.shaft_mm, row.housing_mm, row.width_mm))
        words |= {sign.join((shaft, housing, width)): 0.0 for sign in "×-/"}
    return _vocabulary(words, tails=True)


def _vocabulary(words: dict[str, float], *, tails: bool) -> Vocabulary:
    nodes: dict[str, set[str]] = {}
    for word in words:
        for n in range(len(word)):
            nodes.setdefault(word[:n], set()).add(word[n])
    return Vocabulary({prefix: "".join(sorted(after)) for prefix, after in nodes.items()}, words, tails)


@cache
def _suffixes() -> dict[str, float]:
    """Known suffixes with their cost in nats: what closes a bearing and its clearance are what marks usually say."""
    costs: dict[str, float] = {}
    for row in read_rows("suffixes.csv", ("token", "applies_to", "group")):
        token, scope = row.text("token").upper(), row.text("applies_to").split()
        if not {"rolling", "ball", "dgb"} & set(scope) or len(token) > _LONGEST_SUFFIX or set(token) - set(_TAIL):
            continue
        usual = row.text("group") in {"closure", "clearance"}
        cost = _USUAL_SUFFIX if usual else _OTHER_SUFFIX if len(token) > 1 else _LONE_LETTER
        costs[token] = min(cost, costs.get(token, cost))
    return costs


@lru_cache(maxsize=1 << 16)
def _goes_on(tail: str) -> str:
    """Signs that may follow what stands behind a number: digits that run on from it have to begin a suffix."""
    return "".join(c for c in _TAIL if not _runs_on(tail + c))


def _runs_on(tail: str) -> bool:
    """Whether a tail begins with digits that only lengthen the number."""
    return tail[:1].isdigit() and not any(tail.startswith(s) or s.startswith(tail) for s in _suffixes())


@cache
def _tail_cost(tail: str) -> float:
    """Nats for what follows the number: signs that no known suffix explains, and digits that run on from the number."""
    if tail[:1].isdigit() and not any(tail.startswith(s) for s in _suffixes()):
        return _NO_MARK
    words = sum(_word_cost(word) for word in re.split(r"[-/. ]+", tail) if word)
    return words + _PER_UNKNOWN_SIGN * _needless_signs(tail) + _spelling_cost(tail)


def _needless_signs(tail: str) -> int:
    """Separators beyond the first in a row: nobody writes two, so a second one is a letter that was not made out.

    Without this "6902//C3" passed for 6902/C3 where the ring says 6902VVC3.
    """
    return sum(len(run) - 1 for run in re.findall(r"[-/.]{2,}", tail.replace(" ", "")))


def _spelling_cost(tail: str) -> float:
    """Shields are written ``ZZ`` or ``-2Z`` (common practice): "62052Z" would run into the number.

    The two differ by one stroke, so the reader needs the custom to lean on.
    """
    odd = tail.startswith(("-ZZ", "2Z", " 2Z")) and not tail.startswith("-ZZS")
    return _ODD_SPELLING if odd else 0.0


@cache
def _word_cost(word: str) -> float:
    """Cheapest way to cut a word into known suffixes and left-over signs."""
    best = [0.0] + [_NO_MARK] * len(word)
    for end in range(1, len(word) + 1):
        best[end] = best[end - 1] + _PER_UNKNOWN_SIGN
        for start in range(max(0, end - _LONGEST_SUFFIX), end):
            known = _suffixes().get(word[start:end])
            if known is not None:
                best[end] = min(best[end], best[start] + known)
    return best[-1]
