"""Characters that reading engines and tired eyes take for each other, and what such a slip costs."""

from __future__ import annotations

from functools import cache

OTHER = 1.0
"""Cost of any other substitution, and of a character too many or too few."""

_MISSING_X = 0.15
_PAIRS = {
    0.10: "O0 I1",
    0.15: "S5 Z2 B8 G6 1L IL 1| I| Q0 QO",
    0.25: "D0 DO X* XK",
    0.40: "A4 T7 CG UV CO Y7 1T IT",
    0.55: "17 38 68 56 08 B3 RP EF NM HN C0 U0 VY 27 6E S8 FP RB KR 5G 96 35 G5 1J 49 90",
}
_CLASSES = ("0OQD", "1IL|", "2Z", "5S", "8B", "6G", "4A", "7T", "UV")


def _costs() -> dict[tuple[str, str], float]:
    costs: dict[tuple[str, str], float] = {}
    for cost, pairs in _PAIRS.items():
        for one, other in (tuple(pair) for pair in pairs.split()):
            costs[one, other] = costs[other, one] = cost
    return costs


COSTS = _costs()
_TO_CLASS = str.maketrans({char: group[0] for group in _CLASSES for char in group})


@cache
def _drop_table() -> dict[int, None]:
    return dict.fromkeys(map(ord, " -/,;.:'\"()[]_+|*=#"))


def bare(text: str) -> str:
    """Return a normalised text without separators."""
    return text.translate(_drop_table())


def classed(text: str) -> str:
    """Return a bare text with each character replaced by the first of its look-alikes.

    >>> classed("G2O5") == classed("6205")
    True
    """
    return text.translate(_TO_CLASS)


def distance(read: str, meant: str, limit: float) -> float:
    """Return the weighted edit distance of two bare texts; any value above ``limit`` once it must exceed it.

    A missing ``X`` costs little: the small times sign between sizes is often lost.
    """
    if read == meant:
        return 0.0
    difference = len(meant) - len(read)
    if limit < 2 * OTHER and "X" not in meant:
        if difference == 0:
            return _aligned(read, meant, limit)
        if difference == 1:
            return _one_missing(read, meant, limit)
        return _one_missing(meant, read, limit) if difference == -1 else limit + OTHER
    if abs(difference) * OTHER > limit + (OTHER - _MISSING_X) * meant.count("X"):
        return limit + OTHER
    return _general(read, meant, limit)


def _aligned(read: str, meant: str, limit: float) -> float:
    total = 0.0
    for pair in zip(read, meant, strict=True):
        if pair[0] != pair[1]:
            total += COSTS.get(pair, OTHER)
            if total > limit:
                return limit + OTHER
    return total


def _one_missing(shorter: str, longer: str, limit: float) -> float:
    """Return the cheapest way to leave one character out of the longer text."""
    behind, total = [0.0], 0.0
    for pair in zip(reversed(shorter), reversed(longer), strict=False):
        total += 0.0 if pair[0] == pair[1] else COSTS.get(pair, OTHER)
        behind.append(total)
    best, before, count = behind[-1], 0.0, len(shorter)
    for place in range(count):
        pair = (shorter[place], longer[place])
        if pair[0] != pair[1]:
            before += COSTS.get(pair, OTHER)
            if before + OTHER > limit:
                break
        best = min(best, before + behind[count - place - 1])
    return best + OTHER


def _general(read: str, meant: str, limit: float) -> float:
    missing = [_MISSING_X if char == "X" else OTHER for char in meant]
    row = [0.0]
    for cost in missing:
        row.append(row[-1] + cost)
    for one in read:
        last, row_best = row, limit + OTHER
        row = [last[0] + OTHER]
        for place, other in enumerate(meant):
            best = last[place] + (0.0 if one == other else COSTS.get((one, other), OTHER))
            best = min(best, last[place + 1] + OTHER, row[place] + missing[place])
            row.append(best)
            row_best = min(best, row_best)
        if row_best > limit:
            return limit + OTHER
    return row[-1]
