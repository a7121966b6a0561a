"""How many processes made the units of a batch: one more group at a time, as long as chance would not give it.

Two groups are tested against one, then three against two, and so on (`mixture`); a step that chance can give ends it.
So under a true number of groups a further one is found in at most the stated share of batches (a fixed sequence of
tests needs no correction: Marcus, Peritz and Gabriel, "On closed testing procedures", Biometrika 63, 1976).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from screener.audit.batch.mixture import FREEDOMS, Processes, draw, fit, gain, one_process, usual_freedom
from screener.audit.batch.robust import Flags, Numbers

MOST_GROUPS = 5
FEWEST_IN_GROUP = 3
LEAST_SHARE_IN_GROUP = 0.04
TELLING_NUMBERS = 2
TELLING_SPREADS = 1.5
"""Another process shows in at least two numbers; a group in one number alone is for `outliers`."""
LEAST_APART = 3.0
_AT_MOST_UNITS = 120
"""Of a larger group a seeded random sample is tested; the others are then assigned."""
_DRAWS = 240
_DRAWS_AT_ONCE = 20_000
"""Units times samples fitted at once, which bounds memory."""
_DRAWS_A_LOOK = 24


@dataclass(frozen=True, slots=True)
class Splitting:
    """What the steps found."""

    p: float
    """Of the first step: probability that one process gives as clear a split by chance."""
    groups: tuple[Flags, ...] = ()
    """For every unit whether it belongs to the group; the largest first, none if the batch is whole."""
    step_p: float = 1.0
    """The largest of the steps that led to ``groups``."""
    apart: tuple[float, ...] = ()
    """Distance of each group's centre from that of the largest, in spreads of one group."""


def split(spreads: Numbers, level: float) -> Splitting:
    """Split units into as many groups as the numbers show.

    Parameters
    ----------
    spreads
        (units, numbers), in spreads.
    level
        Probability, at most, with which each step errs.
    """
    n = len(spreads)
    rng = np.random.default_rng(20_250 + n)
    chosen = np.arange(n) if n <= _AT_MOST_UNITS else np.sort(rng.choice(n, _AT_MOST_UNITS, replace=False))
    sample = spreads[chosen][None]
    freedom = usual_freedom(sample[0])
    fitted = one_process(sample, freedom)
    gained, more = gain(sample, fitted, freedom)
    p = _p_of(float(gained[0]), _gains_by_chance(len(chosen), sample.shape[2], freedom))
    found, reached = Splitting(p), p
    while reached <= level and more.groups <= MOST_GROUPS:
        members = _members(spreads, more, freedom)
        if _all_clear(spreads, members, more):
            found = _splitting(p, reached, members, more)
        freedom, fitted = _refitted(sample, more)
        gained, more = gain(sample, fitted, freedom)
        reached = max(reached, _p_of_one_more(float(gained[0]), fitted, freedom, rng, level))
    return found


def _splitting(p: float, reached: float, members: Sequence[Flags], fitted: Processes) -> Splitting:
    first, *others = sorted(range(fitted.groups), key=lambda at: -int(members[at].sum()))
    order = (first, *others)
    return Splitting(p, tuple(members[at] for at in order), reached, tuple(_apart(fitted, first, at) for at in order))


def _refitted(sample: Numbers, fitted: Processes) -> tuple[float, Processes]:
    """Return the degrees of freedom that describe the groups best, and the groups with them.

    Units that belong to a group of their own looked like odd ones before.
    """
    fits = [(freedom, fit(sample, fitted.belongs, freedom)) for freedom in FREEDOMS]
    return max(fits, key=lambda each: float(each[1].log_likelihood[0]))


@lru_cache(maxsize=64)
def _gains_by_chance(n: int, d: int, freedom: float) -> Numbers:
    """Return the gains that samples of one process give.

    The gain does not change when units are shifted, stretched or turned, so one process of each shape stands for all.
    """
    rng = np.random.default_rng(1000 * n + 10 * d + int(freedom))
    one = Processes(np.zeros(1), np.ones((1, n, 1)), np.zeros((1, 1, d)), np.eye(d)[None])
    return np.concatenate(list(_gains_of(one, freedom, rng, _DRAWS)))


def _p_of(gained: float, chance: Numbers) -> float:
    return (1 + float((chance >= gained).sum())) / (1 + len(chance))


def _p_of_one_more(gained: float, fitted: Processes, freedom: float, rng: np.random.Generator, level: float) -> float:
    """Return the probability that as many processes as were fitted give such a gain.

    Drawing ends when the answer cannot fall below ``level`` any more (Besag and Clifford, "Sequential Monte Carlo
    p-values", Biometrika 78, 1991).
    """
    chance = np.empty(0)
    for gains in _gains_of(fitted, freedom, rng, _DRAWS_A_LOOK):
        chance = np.append(chance, gains)
        if 1 + float((chance >= gained).sum()) > level * (1 + _DRAWS):
            break
    return _p_of(gained, chance)


def _gains_of(fitted: Processes, freedom: float, rng: np.random.Generator, at_once: int) -> Iterator[Numbers]:
    """Yield the gains that one more group gives in samples of as many processes as were fitted."""
    n = fitted.belongs.shape[1]
    at_once = min(at_once, max(1, _DRAWS_AT_ONCE // (n if n < 100 else n * n // 60)))
    for start in range(0, _DRAWS, at_once):
        samples, member = draw(fitted, freedom, min(at_once, _DRAWS - start), rng)
        fewer = one_process(samples, freedom) if fitted.groups == 1 else fit(samples, member, freedom)
        yield gain(samples, fewer, freedom)[0]


def _members(spreads: Numbers, fitted: Processes, freedom: float) -> list[Flags]:
    """Return for every unit, tested or not, whether each group is the likeliest for it."""
    inverse = np.linalg.inv(fitted.scatter[0])
    off = spreads[:, None, :] - fitted.centres[0]
    near = np.einsum("nki,ij,nkj->nk", off, inverse, off)
    share = np.clip(fitted.belongs[0].mean(axis=0), 0.01, 0.99)
    likely = np.log(share) - np.log1p(near / freedom) * (freedom + spreads.shape[1]) / 2
    best = np.argmax(likely, axis=1)
    return [np.asarray(best == at) for at in range(fitted.groups)]


def _apart(fitted: Processes, one: int, other: int) -> float:
    between = fitted.centres[0, one] - fitted.centres[0, other]
    return float(np.sqrt(between @ np.linalg.solve(fitted.scatter[0], between)))


def _all_clear(spreads: Numbers, members: Sequence[Flags], fitted: Processes) -> bool:
    """Whether every group is large enough and differs from every other clearly, in two numbers at least."""
    least = max(FEWEST_IN_GROUP, LEAST_SHARE_IN_GROUP * len(spreads))
    return all(int(each.sum()) >= least for each in members) and all(
        _apart(fitted, one, other) >= LEAST_APART
        and int((np.abs(distances(spreads, members[one], members[other])) >= TELLING_SPREADS).sum()) >= TELLING_NUMBERS
        for one, other in combinations(range(len(members)), 2)
    )


def distances(spreads: Numbers, one: Flags, other: Flags) -> Numbers:
    """Return how far the medians of two groups lie apart in each number, in spreads within a group, with sign."""
    mine, theirs = spreads[one], spreads[other]
    within = (mine.std(axis=0) * len(mine) + theirs.std(axis=0) * len(theirs)) / (len(mine) + len(theirs))
    return np.asarray((np.median(mine, axis=0) - np.median(theirs, axis=0)) / np.maximum(within, 1e-9))
