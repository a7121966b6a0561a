"""Reading a lattice: likeliest strings under connectionist temporal classification (CTC), free or led by a vocabulary.

A prefix's probability is the sum over all paths that spell it (Hannun's prefix search; Graves 2006 for the sums).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from screener.vision.text_engine import Lattice

_NEVER = -1e9
_WORTH_TRYING = -7.0
Beam = dict[str, tuple[float, float]]
"""Prefix -> log probability of having spelled it, ending in a blank and ending in its last character."""


class Leads(Protocol):
    """A vocabulary that says how a string may go on."""

    def may_follow(self, prefix: str) -> str | None:
        """Characters that may follow a prefix; ``None`` means any."""
        ...


def likely_strings(
    lattice: Lattice, *, leads: Leads | None = None, width: int = 16, at_most: int = 12
) -> list[tuple[str, float]]:
    """Find the likeliest strings by prefix beam search.

    Parameters
    ----------
    lattice
        From the text engine.
    leads
        Restricts how strings may go on; without it any character may follow.
    width
        Prefixes kept at each step.
    at_most
        Strings returned.

    Returns
    -------
    list of (string, log probability)
        Likeliest first. With a vocabulary, prefixes that are not yet words are among them.
    """
    beam: Beam = {"": (0.0, _NEVER)}
    for row in lattice.log_p:
        grown: Beam = {}
        characters = [(lattice.alphabet[k - 1], float(row[k])) for k in np.flatnonzero(row > _WORTH_TRYING) if k]
        if not characters:
            beam = {prefix: (_plus(*ends) + float(row[0]), _NEVER) for prefix, ends in beam.items()}
            continue
        for prefix, (blank, spelled) in beam.items():
            _grow(grown, prefix, blank, spelled, float(row[0]), characters, leads.may_follow(prefix) if leads else None)
        kept = sorted(grown.items(), key=lambda item: -_plus(*item[1]))[:width]
        beam = dict(kept)
    return [(prefix, _plus(*ends)) for prefix, ends in beam.items()][:at_most]


def places_of(lattice: Lattice, text: str) -> NDArray[np.float64] | None:
    """Find at which step of a lattice each sign of a text stands, along the likeliest path that spells it.

    Returns
    -------
    (len(text),) float64
        Middle of the steps that each sign takes; None where the lattice is too short for the text.
    """
    signs = np.zeros(2 * len(text) + 1, int)
    signs[1::2] = [lattice.alphabet.index(c) + 1 for c in text]
    # Past the blank between them only where two signs differ.
    skips = np.zeros(signs.size, bool)
    skips[3::2] = signs[3::2] != signs[1:-2:2]
    score = np.full(signs.size, _NEVER)
    score[:2] = lattice.log_p[0, signs[:2]]
    came = np.zeros((len(lattice.log_p), signs.size), int)
    for step in range(1, len(lattice.log_p)):
        stay, one, two = score, np.r_[_NEVER, score[:-1]], np.where(skips, np.r_[_NEVER, _NEVER, score[:-2]], _NEVER)
        came[step] = np.argmax([stay, one, two], axis=0)
        score = np.maximum(np.maximum(stay, one), two) + lattice.log_p[step, signs]
    at = signs.size - 1 if score[-1] > score[-2] else signs.size - 2
    if score[at] <= _NEVER / 2:
        return None
    path = np.empty(len(lattice.log_p), int)
    for step in range(len(path) - 1, -1, -1):
        path[step] = at
        at -= came[step, at]
    return np.array([np.flatnonzero(path == 2 * k + 1).mean() for k in range(len(text))])


def _grow(
    grown: Beam,
    prefix: str,
    blank: float,
    spelled: float,
    row_blank: float,
    characters: Iterable[tuple[str, float]],
    allowed: str | None,
) -> None:
    either = _plus(blank, spelled)
    _add(grown, prefix, either + row_blank, _NEVER)
    for character, log_p in characters:
        repeats = bool(prefix) and character == prefix[-1]
        if repeats:
            _add(grown, prefix, _NEVER, spelled + log_p)
        if allowed is None or character in allowed:
            # The same character twice needs a blank between.
            _add(grown, prefix + character, _NEVER, (blank if repeats else either) + log_p)


def _add(beam: Beam, prefix: str, blank: float, spelled: float) -> None:
    old = beam.get(prefix, (_NEVER, _NEVER))
    beam[prefix] = (_plus(old[0], blank), _plus(old[1], spelled))


def _plus(a: float, b: float) -> float:
    """log(exp a + exp b)."""
    high, low = (a, b) if a > b else (b, a)
    return high if low <= _NEVER / 2 or high - low > 40 else high + math.log1p(math.exp(low - high))
