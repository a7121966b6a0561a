"""Suffix codes near to one that nobody knows."""

from __future__ import annotations

from functools import lru_cache

from screener.parts.look_alikes import distance
from screener.parts.vocabulary import codes_for

_FARTHEST = 1.0
_LONGEST = 10


@lru_cache(maxsize=2048)
def near_codes(chunk: str, scope: str, groups: tuple[str, ...], *, limit: int = 3) -> tuple[str, ...]:
    """Return the codes of a family at most one edit from an unknown chunk, the nearest first; look-alikes come first.

    >>> near_codes("2R5", "dgb", ("ball", "rolling"), limit=1)
    ('2RS',)
    """
    if not 2 <= len(chunk) <= _LONGEST:
        return ()
    costs = {token: distance(chunk, token, _FARTHEST) for token in codes_for(scope, groups) if len(token) > 1}
    near = sorted((cost, token) for token, cost in costs.items() if cost <= _FARTHEST)
    return tuple(token for _, token in near[:limit])
