"""Groups within a batch: “these 7 of 50 were marked by another process”.

For each block of numbers (size and mass, marks, label, label colours) one more group is set against fewer as long as
the gain is more than chance gives (`splitting`). Blocks are judged together (Bonferroni), so that a clean batch is
split in fewer than one case in twenty, and a batch of two processes in fewer than one in twenty into three. A single
odd reading of a unit is not a process: it is smoothed over before, and named by `outliers` instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from screener.audit.batch import label_colours
from screener.audit.batch.columns import Column
from screener.audit.batch.distributions import fisher_two_sided
from screener.audit.batch.multiple import holm
from screener.audit.batch.robust import Flags, Numbers, Places
from screener.audit.batch.splitting import FEWEST_IN_GROUP, TELLING_SPREADS, Splitting, distances, split
from screener.audit.batch.unit import BLOCKS, Block, Unit, block_of, feature_says, number_says

FEWEST_UNITS = 12
"""With fewer units no block is split (judgement: three of twelve is the least that is worth a sentence)."""
FALSE_SPLITS = 0.05
"""A batch is split further than it was made with at most this probability."""
MOST_NUMBERS = 6
_UNITS_A_NUMBER = 6
_COVERED = 0.8
"""A number takes part if this share of the units has it."""
_ODD_READING = 3.5
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
    """A group of units that differs from the largest as another process would."""

    block: Block
    units: tuple[int, ...]
    """Places of the group's units."""
    others: int
    """How many units it was told from: the largest group."""
    of: int
    """How many units were compared; more than the two together where there are further groups."""
    p: float
    """Probability that fewer processes give as clear a split by chance, over all blocks."""
    apart: float
    """Distance of the two centres in spreads of one group."""
    differs: tuple[Difference, ...]
    coincides: tuple[Coincidence, ...] = field(default=())

    @property
    def says(self) -> str:
        """What sets the group apart, in a sentence or two."""
        most = [each for each in self.differs if abs(each.spreads) >= TELLING_SPREADS][:3]
        how = ", ".join(
            f"{feature_says(each.feature)} {number_says(each.feature, each.group)} against "
            f"{number_says(each.feature, each.others)}"
            for each in most
        )
        same = "".join(
            f" {each.in_group} of them share {each.name} {each.value}; of the others {each.in_others} do."
            for each in self.coincides[:3]
        )
        return f"{self.counts_say} differ{self.from_says} in {self.block}: {how}.{same}"

    @property
    def counts_say(self) -> str:
        """How many of how many."""
        return f"{len(self.units)} of {self.of} units"

    @property
    def from_says(self) -> str:
        """What the group was told from, where that is not simply all others."""
        return "" if len(self.units) + self.others == self.of else f" from the largest group of {self.others}"


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
    splits = [split(table.spreads, FALSE_SPLITS / len(tables)) for table in tables]
    found: list[Cluster] = []
    tested = []
    for table, made in zip(tables, splits, strict=True):
        tested.append(Tested(table.block, table.features, len(table.units), min(1.0, made.p * len(tables))))
        groups = (_cluster(table, made, at, len(tables), units) for at in range(1, len(made.groups)))
        found += (each for each in groups if _is_to_be_seen(each))
    return sorted(found, key=lambda each: each.p), tested


def _is_to_be_seen(cluster: Cluster) -> bool:
    """Whether a group's colours are far enough from the others' for an eye."""
    if cluster.block != "label colours":
        return True
    group = {each.feature: each.group for each in cluster.differs}
    others = {each.feature: each.others for each in cluster.differs}
    return label_colours.apart(group, others) >= label_colours.LEAST_APART


@dataclass(frozen=True, slots=True)
class _Table:
    block: Block
    features: tuple[str, ...]
    units: tuple[int, ...]
    raw: Numbers
    spreads: Numbers
    """Robust distances from the medians, (units, features)."""


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


def _cluster(table: _Table, made: Splitting, at: int, blocks: int, units: Sequence[Unit]) -> Cluster:
    inside, largest = made.groups[at], made.groups[0]
    differs = sorted(_differences(table, inside, largest), key=lambda each: -abs(each.spreads))
    return Cluster(
        block=table.block,
        units=tuple(place for place, belongs in zip(table.units, inside, strict=True) if belongs),
        others=int(largest.sum()),
        of=len(table.units),
        p=min(1.0, made.step_p * blocks),
        apart=made.apart[at],
        differs=tuple(differs),
        coincides=tuple(_coincidences([units[place] for place in table.units], inside)),
    )


def _differences(table: _Table, inside: Flags, largest: Flags) -> Iterator[Difference]:
    apart = distances(table.spreads, inside, largest)
    for at, feature in enumerate(table.features):
        raw = table.raw[:, at]
        yield Difference(feature, float(np.median(raw[inside])), float(np.median(raw[largest])), float(apart[at]))


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
