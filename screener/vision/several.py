"""Several photos of one face, read together: what each says of the same part, brought to one answer.

Photos under other light are other looks at the same letters: each may miss what another shows, so what two of them only
suspect may be sure together, and what one misreads is outvoted. They are not independent, though: a worn letter is worn
in all of them, the lens and the chamfer stay the same. What they share is never averaged away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.vision.marks.designation import key_of
from screener.vision.model import Measured

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

SHARED = 0.3
"""Share of a mark's or face's misreadings that all photos of it have in common (judgement): n photos count as
n / (1 + (n - 1) · SHARED)."""

CHANCE = 0.05
"""How often a photo that shows the mark too badly would read just this all the same. Misreadings crowd on look-alikes
(608 as 606 or 605): far more than one in the number of sizes."""

HIDDEN_END = 0.1
"""Share of a reading that also stands for the same text with more behind it: a suffix may lie in the glare."""

NEVER_SURER = 0.985
"""As for one look (face.py): parts and lamps exist that nobody has tested."""

COMMON_VARIANCE = 0.5
"""Share of a measure's variance that photos of one part have in common (judgement): lens, chamfer, the card's print."""

SAME_PART_SIGMAS = 4.0
"""Measures further apart than this many standard uncertainties of their difference are not of one part."""


@dataclass(frozen=True, slots=True)
class Ballot:
    """What one photo makes of a text or a class: probabilities by value. What is missing to one is "can't tell"."""

    chances: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Elected:
    """The value that several ballots settle on."""

    value: str
    p: float
    margin: float
    """How far its probability lies above the next one's."""
    supporters: tuple[int, ...]
    """Ballots that hold it likelier than any other value."""
    opponents: tuple[int, ...]
    """Ballots that hold another value likelier."""


def elect_designation(ballots: Sequence[Ballot]) -> Elected | None:
    """Settle on one designation over the readings of several photos; ``None`` if none of them reads anything.

    Each photo either sees the mark and reads it as its ballot says, or does not and reads by chance; the ballots'
    likelihoods multiply, tempered by how much photos of one mark have in common. Spellings that differ in signs and
    blanks only are one value, written as in the ballot that is surest of it.
    """
    spelled: dict[str, tuple[float, str]] = {}
    by_key = []
    for ballot in ballots:
        keyed: dict[str, float] = {}
        for text, p in ballot.chances.items():
            key = key_of(text)
            keyed[key] = keyed.get(key, 0.0) + p
            spelled[key] = max(spelled.get(key, (0.0, text)), (p, text))
        by_key.append(Ballot(keyed))
    elected = elect(by_key, chance=CHANCE, goes_on=True)
    if elected is None:
        return None
    return Elected(spelled[elected.value][1], elected.p, elected.margin, elected.supporters, elected.opponents)


def elect_class(ballots: Sequence[Ballot], words: Sequence[str]) -> Elected | None:
    """Settle on one of a few classes, as likely as each other beforehand."""
    full = [Ballot(_spread(ballot.chances, words)) for ballot in ballots]
    return elect(full, chance=1.0 / len(words))


def elect(ballots: Sequence[Ballot], *, chance: float, goes_on: bool = False) -> Elected | None:
    """Multiply tempered likelihoods over all values that any ballot names.

    Parameters
    ----------
    ballots
        One a photo.
    chance
        Probability of each value when nothing is seen.
    goes_on
        Whether a shorter value may be the beginning of a longer one.
    """
    values = list(dict.fromkeys(value for ballot in ballots for value in ballot.chances))
    if not values:
        return None
    temper = 1.0 / (1.0 + (_speaking(ballots) - 1) * SHARED)
    known = [_support(ballot, values, goes_on=goes_on) for ballot in ballots]
    unseen = [max(1e-3, 1.0 - sum(ballot.chances.values())) for ballot in ballots]
    score = {
        value: math.log(chance)
        + temper * sum(math.log(s[value] / chance + u) for s, u in zip(known, unseen, strict=True))
        for value in values
    }
    others = max(0.0, 1.0 - len(values) * chance)
    none = others * math.exp(temper * sum(math.log(u) for u in unseen))
    total = sum(math.exp(s) for s in score.values()) + none
    ranked = sorted(values, key=lambda value: -score[value])
    best = ranked[0]
    p = min(NEVER_SURER, math.exp(score[best]) / total)
    second = math.exp(score[ranked[1]]) / total if len(ranked) > 1 else 0.0
    favourites = [max(b.chances, key=lambda v: b.chances[v]) if b.chances else None for b in ballots]
    return Elected(
        best,
        p,
        p - second,
        tuple(i for i, favourite in enumerate(favourites) if favourite == best),
        tuple(i for i, favourite in enumerate(favourites) if favourite not in (best, None)),
    )


def _speaking(ballots: Sequence[Ballot]) -> float:
    """How many ballots speak: one that reads next to nothing must not make the others count for less."""
    masses = [sum(ballot.chances.values()) for ballot in ballots]
    return sum(masses) / max(masses)


def _support(ballot: Ballot, values: Sequence[str], *, goes_on: bool) -> dict[str, float]:
    own = {value: ballot.chances.get(value, 0.0) for value in values}
    if not goes_on:
        return own
    begun = {
        value: max((p for text, p in ballot.chances.items() if text != value and value.startswith(text)), default=0.0)
        for value in values
    }
    return {value: own[value] + HIDDEN_END * begun[value] for value in values}


def _spread(chances: Mapping[str, float], words: Sequence[str]) -> dict[str, float]:
    """Give what a ballot leaves open to the classes it does not name."""
    silent = [word for word in words if word not in chances]
    rest = max(0.0, 1.0 - sum(chances.values()))
    return dict(chances) | {word: rest / len(silent) for word in silent}


def combine(measures: Sequence[Measured]) -> Measured:
    """Weighted mean of one measure over several photos, with what they have in common kept.

    The independent parts are weighted by their inverse variance and widened by the Birge ratio where the photos scatter
    more than they say; the common part is that of the best photo (GUM, JCGM 100:2008, 5.2.2 and F.1.2.3).
    """
    common = COMMON_VARIANCE * min(m.u for m in measures) ** 2
    own = [max(m.u**2 - common, 1e-12) for m in measures]
    precision = sum(1.0 / v for v in own)
    mean = sum(m.value / v for m, v in zip(measures, own, strict=True)) / precision
    scatter = sum((m.value - mean) ** 2 / v for m, v in zip(measures, own, strict=True)) / max(1, len(measures) - 1)
    return Measured(mean, math.sqrt(common + max(1.0, scatter) / precision))


def of_one_part(measures: Sequence[Measured]) -> bool:
    """Whether measures of one quantity are near enough to be of the same part."""
    return all(
        abs(a.value - b.value) <= SAME_PART_SIGMAS * math.hypot(a.u, b.u)
        for i, a in enumerate(measures)
        for b in measures[i + 1 :]
    )
