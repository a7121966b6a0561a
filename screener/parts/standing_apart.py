"""Words behind a number that only look like suffixes: letters that can be cut into codes nobody joins that way.

A short word in capitals is easily cut into two or three codes of one or two letters (one three-letter word in eight,
behind a deep groove number). Behind a blank or comma it is more likely a maker's word, which says nothing of the part.
So letters that stand apart are read as joined codes only where the trade joins those (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from screener.parts.vocabulary import Code

_APART = frozenset(" ,;:([{'\"")
_SHORTEST = 3
_SHORTEST_CLOSURE = 2
# Deep groove and thrust ball bearings: suffixes are written apart or behind the closure.
_STRICT = frozenset({"dgb", "dgbm", "tbb"})
_BEHIND_CLOSURE = {"snap ring": 0, "cage": 1, "clearance": 2, "grease": 3}
_RING_OR_CLEARANCE = frozenset({"snap ring", "clearance"})
_BEFORE_CAGES = frozenset({"ZZ", "VV"})
"""Closures of two letters behind which a cage or grease is joined; behind the others two letters more make a word."""
_BEFORE_GROOVE = frozenset({"RS", "RZ", "RSR", "RSH"})
"""One-sided closures that N is joined to; behind the others it makes a word of three letters (RUN)."""
_CLEARANCES = frozenset({"CM", "CN", "CT"})
# Elsewhere letters are joined freely, but in this order, and no two of a kind.
_ORDER = {
    "dimensions": 0,
    "design": 0,
    "raceway": 1,
    "bore": 1,
    "cage": 1,
    "closure": 2,
    "snap ring": 2,
    "arrangement": 2,
    "clearance": 3,
    "accuracy": 4,
    "lubrication": 5,
    "duty": 5,
    "grease": 6,
}
_ALSO_JOINED = (("bore", "design"), ("arrangement", "cage"))
_REPEATED = frozenset({"design"})
_ACCURACIES = frozenset({"SP", "UP"})
_FREE = frozenset({"insert", "needle", "plain"})
"""Families whose makers join what they like: not judged."""


def stands_apart(text: str, start: int) -> bool:
    """Say whether a blank or comma stands before a place."""
    return text[start - 1 : start] in _APART if start else False


def is_doubtful(chunk: str, codes: Sequence[Code], scope: str) -> bool:
    """Say whether a chunk that stands apart is more likely a word than the codes it was cut into.

    Parameters
    ----------
    chunk
        The letters as they stand in the text.
    codes
        What it was cut into.
    scope
        The family, as suffixes.csv names it.
    """
    if not chunk.isalpha() or len(chunk) < _SHORTEST:
        return False
    if len(codes) == 1:
        return codes[0].joined
    if scope in _FREE:
        return False
    return not (_behind_closure(codes) if scope in _STRICT else _in_order(codes))


def _behind_closure(codes: Sequence[Code]) -> bool:
    """Say whether codes are a closure and what is joined to it: ZZNR, LLUCM, DDUHT."""
    closure, *others = codes
    sides = dict(closure.main.attributes).get("closure", "")
    if not sides or (closure.disputed and len(closure.token) < _SHORTEST_CLOSURE):
        return False
    groups = [code.main.group for code in others]
    takes_all = sides.endswith("/2") and (len(closure.token) > _SHORTEST_CLOSURE or closure.token in _BEFORE_CAGES)
    allowed = set(_BEHIND_CLOSURE) if takes_all else _RING_OR_CLEARANCE
    if not set(groups) <= allowed or not _rising([_BEHIND_CLOSURE[group] for group in groups]):
        return False
    return all(_as_joined(code, closure) for code in others)


def _as_joined(code: Code, closure: Code) -> bool:
    """Say whether a code is one that is met joined to a closure: none of one letter but the groove, no CO."""
    if code.main.group == "snap ring":
        said = dict(closure.main.attributes)
        takes_groove = said["closure"].endswith("/2") or closure.token in _BEFORE_GROOVE
        return "snap_ring" not in said and code.token in ({"N", "NR"} if takes_groove else {"NR"})
    return code.token in _CLEARANCES if code.main.group == "clearance" else len(code.token) > 1


def _rising(places: Sequence[int]) -> bool:
    return all(one < two for one, two in pairwise(places))


def _in_order(codes: Sequence[Code]) -> bool:
    groups = [code.main.group for code in codes]
    once = [group for group in groups if group not in _REPEATED]
    if len(once) != len(set(once)) or not set(groups) <= set(_ORDER):
        return False
    if any(code.main.group == "accuracy" and code.token not in _ACCURACIES for code in codes):
        return False
    if any(code.main.group == "clearance" and code.token not in _CLEARANCES for code in codes):
        return False
    pairs = pairwise(groups)
    return all(_ORDER[one] <= _ORDER[two] or (one, two) in _ALSO_JOINED for one, two in pairs)
