"""Groups within a batch: “these 7 of 50 were marked by another process”.

For each block of numbers (size and mass, marks, label) two groups are set against one (`mixture`), and the gain against
what one process gives by chance (bootstrap). Blocks are judged together (Holm), so that a clean batch is split in fewer
than one case in twenty. A single odd reading of a unit is not a process: it is smoothed over before, and named by
`outliers` instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from screener.audit.batch.columns import Column
from screener.audit.batch.distributions import fisher_two_sided
from screener.audit.batch.mixture import OneProcess, TwoProcesses, draw, fit_one, gain
from screener.audit.batch.multiple import holm
from screener.audit.batch.robust import Flags, Numbers, Places
from screener.audit.batch.unit import BLOCKS, Block, Unit, block_of, feature_says, number_says

FEWEST_UNITS = 12
"""With fewer units no block is split (judgement: three of twelve is the least that is worth a sentence)."""
FALSE_SPLITS = 0.05
"""A batch of one process is split with at most this probability."""
_TELLING_NUMBERS = 2
_TELLING_SPREADS = 1.5
"""Another process shows in at least two numbers; a group in one number alone is for `outliers`."""
FEWEST_IN_GROUP = 3
LEAST_SHARE_IN_GROUP = 0.04
MOST_NUMBERS = 6
_UNITS_A_NUMBER = 6
_COVERED = 0.8
"""A number takes part if this share of the units has it."""
_AT_MOST_UNITS = 120
"""Of a larger group a seeded random sample is tested; the others are then assigned."""
_LEAST_APART = 3.0
_ODD_READING = 3.5
_DRAWS = 240
_DRAWS_AT_ONCE = 20_000
"""Units times samples fitted at once, which bounds memory."""
_COINCIDES_P = 0.01


@dataclass(frozen=True, slots=True)
class Difference:
    """One number of the smaller group against the others."""

    feature: str
    group: float
    others: float
    spreads: float
    """Distance of the two medians in spreads of one group, with sign."""


@dataclass(frozen=True, slots=True)
class Coincidence:
    """A word that goes with the smaller group more than chance allows."""

    name: str
    value: str
    in_group: int
    in_others: int
    p: float


@dataclass(frozen=True, slots=True)
class Cluster:
    """A group of units that differs from the others as another process would."""

    block: Block
    units: tuple[int, ...]
    """Places of the smaller group's units."""
    others: int
    """How many units it was told from."""
    p: float
    """Probability that one process gives as clear a split by chance, over all blocks."""
    apart: float
    """Distance of the two centres in spreads of one group."""
    differs: tuple[Difference, ...]
    coincides: tuple[Coincidence, ...] = field(default=())

    @property
    def says(self) -> str:
        """What sets the group apart, in a sentence or two."""
        most = [each for each in self.differs if abs(each.spreads) >= _TELLING_SPREADS][:3]
        how = ", ".join(
            f"{feature_says(each.feature)} {number_says(each.feature, each.group)} against "
            f"{number_says(each.feature, each.others)}"
            for each in most
        )
        same = "".join(
            f" {each.in_group} of them share {each.name} {each.value}; of the others {each.in_others} do."
            for each in self.coincides[:3]
        )
        size = len(self.units)
        return f"{size} of {size + self.others} units differ in {self.block}: {how}.{same}"


@dataclass(frozen=True, slots=True)
class Tested:
    """What was tested for groups."""

    block: Block
    features: tuple[str, ...]
    units: int
    p: float


def find_clusters(columns: Sequence[Column], units: Sequence[Unit]) -> tuple[list[Cluster], list[Tested]]:
    """Return the groups found, surest first, and what was tested. The same units give the same answer."""
    tables = [table for block in BLOCKS if (table := _table_of(block, columns, len(units))) is not None]
    splits = [_split(table) for table in tables]
    adjusted = holm([split.p for split in splits])
    tested = [
        Tested(table.block, table.features, len(table.units), p) for table, p in zip(tables, adjusted, strict=True)
    ]
    found = [
        _cluster(table, split, p, units)
        for table, split, p in zip(tables, splits, adjusted, strict=True)
        if p <= FALSE_SPLITS and split.is_clear
    ]
    return sorted(found, key=lambda each: each.p), tested


@dataclass(frozen=True, slots=True)
class _Table:
    block: Block
    features: tuple[str, ...]
    units: tuple[int, ...]
    raw: Numbers
    spreads: Numbers
    """Robust distances from the medians, (units, features)."""


@dataclass(frozen=True, slots=True)
class _Split:
    p: float
    member: Numbers
    """Probability of belonging to the smaller group."""
    apart: float
    telling: int
    """How many numbers differ clearly between the two."""

    @property
    def is_clear(self) -> bool:
        size = int((self.member > 0.5).sum())
        large = size >= max(FEWEST_IN_GROUP, LEAST_SHARE_IN_GROUP * len(self.member))
        return large and self.apart >= _LEAST_APART and self.telling >= _TELLING_NUMBERS


def _table_of(block: Block, columns: Sequence[Column], count: int) -> _Table | None:
    mine = [each for each in columns if block_of(each.feature) == block and each.spread > 0]
    most = max((len(each.units) for each in mine), default=0)
    mine = [each for each in mine if len(each.units) >= max(_COVERED * most, FEWEST_UNITS)]
    # Most complete first; ties in the order met.
    mine = sorted(mine, key=lambda each: -len(each.units))[: min(MOST_NUMBERS, most // _UNITS_A_NUMBER)]
    places = tuple(sorted(set(range(count)).intersection(*(each.units for each in mine)))) if mine else ()
    if len(places) < FEWEST_UNITS:
        return None
    rows = [np.searchsorted(each.units, places) for each in mine]
    raw = np.stack([each.raw[row] for each, row in zip(mine, rows, strict=True)], axis=1)
    spreads = np.stack([_spreads(each, row) for each, row in zip(mine, rows, strict=True)], axis=1)
    return _Table(block, tuple(each.feature for each in mine), places, raw, _without_odd_readings(spreads))


def _spreads(column: Column, row: Places) -> Numbers:
    """Return distances in spreads.

    A column of few steps is spread over its steps, or the steps would look like groups.
    """
    steps = np.diff(np.unique(column.values))
    values = column.values[row]
    if len(steps) and len(steps) + 1 < 0.8 * len(column.values):
        rng = np.random.default_rng(len(column.values))
        values = values + rng.uniform(-0.5, 0.5, len(values)) * float(np.min(steps))
    return np.asarray((values - column.middle) / column.spread)


def _without_odd_readings(spreads: Numbers) -> Numbers:
    """Replace a far-off value that is its unit's only one, and has no company, by what the other values let expect."""
    far = np.abs(spreads) > _ODD_READING
    company = np.where(spreads > 0, (far & (spreads > 0)).sum(axis=0), (far & (spreads < 0)).sum(axis=0))
    alone = far & (far.sum(axis=1, keepdims=True) == 1) & (company < FEWEST_IN_GROUP)
    if not alone.any():
        return spreads
    smooth = np.where(alone, 0.0, spreads)
    together = np.cov(smooth.T).reshape(spreads.shape[1], -1) + 1e-9 * np.eye(spreads.shape[1])
    for unit, number in np.argwhere(alone):
        rest = [each for each in range(spreads.shape[1]) if each != number]
        if rest:
            weights = np.linalg.solve(together[np.ix_(rest, rest)], together[rest, number])
            smooth[unit, number] = smooth[unit, rest] @ weights
    return np.asarray(smooth)


def _split(table: _Table) -> _Split:
    n, d = table.spreads.shape
    rng = np.random.default_rng(20_250 + n)
    chosen = np.arange(n) if n <= _AT_MOST_UNITS else np.sort(rng.choice(n, _AT_MOST_UNITS, replace=False))
    sample = table.spreads[chosen]
    one = fit_one(sample)
    gained, two = gain(sample[None], one.freedom)
    chance = _gains_by_chance(len(chosen), d, one.freedom)
    p = (1 + float((chance >= gained[0]).sum())) / (1 + len(chance))
    member = two.belongs[0] if len(chosen) == n else _assign(table.spreads, two)
    smaller = member if (member > 0.5).mean() <= 0.5 else 1 - member
    between = two.centres[0, 1] - two.centres[0, 0]
    telling = sum(abs(each.spreads) >= _TELLING_SPREADS for each in _differences(table, smaller > 0.5))
    return _Split(p, smaller, float(np.sqrt(between @ np.linalg.solve(two.scatter[0], between))), telling)


@lru_cache(maxsize=64)
def _gains_by_chance(n: int, d: int, freedom: float) -> Numbers:
    """Return the gains that samples of one process give.

    The gain does not change when units are shifted, stretched or turned, so one process of each shape stands for all.
    """
    rng = np.random.default_rng(1000 * n + 10 * d + int(freedom))
    one = OneProcess(np.zeros(d), np.eye(d), freedom, 0.0)
    at_once = max(1, _DRAWS_AT_ONCE // (n if n < 100 else n * n // 60))
    sizes = (min(at_once, _DRAWS - start) for start in range(0, _DRAWS, at_once))
    return np.concatenate([gain(draw(one, size, n, rng), freedom)[0] for size in sizes])


def _assign(spreads: Numbers, two: TwoProcesses) -> Numbers:
    """Return for every unit whether the second centre is nearer, weighed by the groups' sizes."""
    inverse = np.linalg.inv(two.scatter[0])
    off = spreads[:, None, :] - two.centres[0]
    near = np.einsum("nki,ij,nkj->nk", off, inverse, off)
    share = float(np.clip(two.belongs[0].mean(), 0.01, 0.99))
    return np.asarray(1 / (1 + (1 - share) / share * np.exp(np.clip((near[:, 1] - near[:, 0]) / 2, -50, 50))))


def _cluster(table: _Table, split: _Split, p: float, units: Sequence[Unit]) -> Cluster:
    inside = split.member > 0.5
    places = tuple(place for place, belongs in zip(table.units, inside, strict=True) if belongs)
    differs = sorted(_differences(table, inside), key=lambda each: -abs(each.spreads))
    return Cluster(
        block=table.block,
        units=places,
        others=len(table.units) - len(places),
        p=p,
        apart=split.apart,
        differs=tuple(differs),
        coincides=tuple(_coincidences([units[place] for place in table.units], inside)),
    )


def _differences(table: _Table, inside: Flags) -> Iterator[Difference]:
    if not 0 < inside.sum() < len(inside):
        return
    for at, feature in enumerate(table.features):
        group, others = table.spreads[inside, at], table.spreads[~inside, at]
        within = (np.std(group) * len(group) + np.std(others) * len(others)) / len(table.units)
        raw = table.raw[:, at]
        yield Difference(
            feature,
            float(np.median(raw[inside])),
            float(np.median(raw[~inside])),
            float((np.median(group) - np.median(others)) / max(within, 1e-9)),
        )


def _coincidences(units: Sequence[Unit], inside: Flags) -> list[Coincidence]:
    """Return the words that go with the group, by Fisher's exact test over all words (Holm)."""
    tables = []
    for name in dict.fromkeys(name for unit in units for name in _words_of(unit)):
        for value in sorted({_words_of(unit)[name] for unit in units if name in _words_of(unit)}):
            has = np.array([_words_of(unit).get(name) == value for unit in units])
            tables.append((name, value, int((has & inside).sum()), int((has & ~inside).sum())))
    size, rest = int(inside.sum()), int((~inside).sum())
    adjusted = holm([fisher_two_sided(a, size - a, b, rest - b) for _, _, a, b in tables])
    return [
        Coincidence(name, value, a, b, p)
        for (name, value, a, b), p in zip(tables, adjusted, strict=True)
        # Only what the group has more of: that the others lack it says the same again.
        if p <= _COINCIDES_P and a / size > b / rest
    ]


def _words_of(unit: Unit) -> dict[str, str]:
    return {**unit.words, "run": str(unit.run), "supplier": unit.supplier or "not named"}
