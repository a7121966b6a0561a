"""From many readings of one run of text to a designation with a probability, or to none.

Every reading votes with how likely its lattice makes a designation beside the best thing it could read at all. Votes of
one run are averaged, not multiplied: the crops show the same pixels, so their errors are not independent.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from screener.vision.marks.lattice_reading import likely_strings, places_of
from screener.vision.text_engine import Lattice

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from screener.vision.marks.vocabulary import Vocabulary

NO_DESIGNATION = math.exp(-4.0)
"""Weight of "this is no designation": one that is e^4 times less likely than the free reading loses to it."""
_LOOK_ALIKE = {
    "O0": 0.06, "D0": 0.04, "Q0": 0.04, "I1": 0.06, "/1": 0.06, "L1": 0.03, "/I": 0.06, "/7": 0.02,
    "Z2": 0.02, "Z7": 0.06, "S5": 0.06, "B8": 0.06, "G6": 0.05, "RP": 0.03, "RA": 0.02, "RB": 0.02,
    "C0": 0.02, "C6": 0.02,
}  # fmt: skip
_WORTH_MEASURING = 0.01
_LEAST_SIGNS = 3
_EVEN_PITCH, _HOLE_PITCH, _PER_HOLE = 1.4, 1.9, 4.0
"""Steps from a digit to the next by those usual in the text: up to the first nothing is missing, from the second on a
sign is."""
_UNUSED_WORD = 0.5
_UNUSED_DIGITS = 3.0


@dataclass(frozen=True, slots=True)
class Vote:
    """A designation read from one crop; weight 1 means: as likely as the best free reading, and an ordinary one."""

    text: str
    weight: float


def key_of(text: str) -> str:
    """Letters and digits only: how designations are compared."""
    return re.sub(r"[^A-Z0-9]", "", text.upper())


def votes(lattice: Lattice, vocabulary: Vocabulary) -> dict[str, Vote]:
    """Designations that a lattice may spell, by their key."""
    found: dict[str, Vote] = {}
    for part, unused in _stretches(lattice):
        free = likely_strings(part, width=6, at_most=1)[0][1]
        for string, log_p in likely_strings(forgiving(part), leads=vocabulary, width=24, at_most=24):
            text = string.strip(" -/.").replace(".", "-")
            cost = vocabulary.cost(text)
            if cost is None:
                continue
            weight = math.exp(min(0.0, log_p - free) - cost - unused)
            if weight > _WORTH_MEASURING:
                weight *= math.exp(-_holes_cost(part, string))
            old = found.get(key_of(text), Vote(text, 0.0))
            found[key_of(text)] = Vote(text if weight > old.weight else old.text, max(old.weight, weight))
    return found


def _holes_cost(lattice: Lattice, text: str) -> float:
    """Nats against a text for places between two of its digits where another sign has room: one was passed over."""
    digits = [k for k in range(len(text) - 1) if text[k].isdigit() and text[k + 1].isdigit()]
    places = places_of(lattice, text) if len(text) > _LEAST_SIGNS and digits else None
    if places is None:
        return 0.0
    pitch = np.diff(places)
    wider = (pitch[digits] / np.median(pitch) - _EVEN_PITCH) / (_HOLE_PITCH - _EVEN_PITCH)
    return float(_PER_HOLE * np.clip(wider, 0.0, 1.0).sum())


def average(ballots: Sequence[Mapping[str, Vote]]) -> dict[str, Vote]:
    """Mean weight of each designation over several readings of one run; absent counts as nothing."""
    keys = {key for ballot in ballots for key in ballot}
    mean: dict[str, Vote] = {}
    for key in keys:
        cast = [ballot[key] for ballot in ballots if key in ballot]
        best = max(cast, key=lambda vote: vote.weight)
        mean[key] = Vote(best.text, sum(vote.weight for vote in cast) / len(ballots))
    return mean


def forgiving(lattice: Lattice) -> Lattice:
    """Give every character a share of what its look-alikes have: worn or glaring, a Z is a 7 and a stroke a 1.

    Rows then add up to more than one: what was read plainly must not lose by what it might be taken for.
    """
    p = np.exp(lattice.log_p)
    index = {c: k + 1 for k, c in enumerate(lattice.alphabet)}
    shared = p.copy()
    for pair, share in _LOOK_ALIKE.items():
        a, b = index[pair[0]], index[pair[1]]
        shared[:, a] += share * p[:, b]
        shared[:, b] += share * p[:, a]
    return Lattice(lattice.alphabet, np.log(shared).astype(np.float32), lattice.px_per_step)


def _stretches(lattice: Lattice) -> Iterable[tuple[Lattice, float]]:
    """Parts of a lattice that may hold a designation: whole words in a row, with the cost of what they leave out."""
    path = lattice.log_p.argmax(axis=1)
    space = lattice.alphabet.find(" ") + 1
    cuts = [-1, *(t for t in range(len(path)) if path[t] == space), len(path)]
    words = [(a + 1, b) for a, b in pairwise(cuts) if any(path[a + 1 : b])]
    texts = [Lattice(lattice.alphabet, lattice.log_p[a:b], lattice.px_per_step).best()[0] for a, b in words]
    for i in range(min(len(words), 3)):
        if sum(c.isdigit() or c in "OISZBGQDL" for c in texts[i]) < 2:
            continue
        for j in range(i, len(words)):
            left_out = texts[:i] + texts[j + 1 :]
            unused = sum(_UNUSED_DIGITS if any(c.isdigit() for c in w) else _UNUSED_WORD for w in left_out)
            rows = lattice.log_p[words[i][0] : words[j][1]]
            yield Lattice(lattice.alphabet, rows, lattice.px_per_step), unused
