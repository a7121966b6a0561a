"""Is the stated share truly bad? Reliability, Brier score and the share of bad items by level, over simulated deliveries.

    python -m tests.simulation.measure_calibration [WORLDS] [ITEMS A WORLD]

Beside the tool's weighing stand two others that read the same signs: the number of red flags, turned into a chance by the
frequencies of as many other simulated items (the best that a count can do), and the plain product of all ratios.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).parents[1]))

from simulation.deliveries import SIGNS, Drawn, draw

from screener.screening.model import Finding, Suspicion
from screener.screening.weighing import absence, weigh
from screener.specs.screening_rules import indicator_groups, indicators, suspicion_settings

LEVELS = ("none", "weak", "moderate", "strong")
EDGES = (0, 0.003, 0.01, 0.03, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0)


@dataclass(frozen=True)
class Judged:
    """Stated chances of being bad, by three ways of weighing, and what is true."""

    bad: np.ndarray
    level: np.ndarray
    tool: np.ndarray
    product: np.ndarray
    flags: np.ndarray


def judge(drawn: Drawn) -> Judged:
    """Weigh every item with the tool's own weights and settings."""
    rows = [tuple(np.flatnonzero(row)) for row in drawn.seen]
    groups = _groups_looked_at(drawn)
    weighed = [weighing(row, looked) for row, looked in zip(rows, groups, strict=True)]
    prior = drawn.prior_percent / 100
    odds = prior / (1 - prior)
    tool = odds * 10 ** (np.array([w.ratio_db + w.absence_db for w in weighed]) / 10)
    ratios = np.array([np.prod([SIGNS[n].ratio for n in row]) for row in rows])
    product = odds * ratios
    return Judged(
        drawn.bad,
        np.array([w.level for w in weighed]),
        tool / (1 + tool),
        product / (1 + product),
        drawn.seen.sum(axis=1),
    )


@cache
def weighing(row: tuple[int, ...], groups: tuple[str, ...]) -> Suspicion:
    """The tool's weighing of a set of signs, with the groups that were looked at."""
    found = [Finding("sign_seen", "question", "suspicion", "", "", indicator=SIGNS[n].id) for n in row]
    weighed = weigh(found, indicators(), suspicion_settings())
    absent_db, without = absence(groups, weighed, indicator_groups(), suspicion_settings())
    return replace(weighed, absence_db=absent_db, groups_without=without)


def _groups_looked_at(drawn: Drawn) -> list[tuple[str, ...]]:
    """Groups of which at least half of the signs were looked for."""
    of_group = {name: [n for n, s in enumerate(SIGNS) if s.group == name] for name in indicator_groups()}
    looked = np.stack([drawn.looked_for[:, mine].mean(axis=1) >= 0.5 for mine in of_group.values()], axis=1)
    names = tuple(of_group)
    return [tuple(names[n] for n in np.flatnonzero(row)) for row in looked]


def worlds(count: int, items: int, seed: int) -> Judged:
    """Judge many worlds as one: true ratios differ from world to world as nobody knows them."""
    rng = np.random.default_rng(seed)
    parts = [judge(draw(items, rng)) for _ in range(count)]
    return Judged(*(np.concatenate([getattr(p, name) for p in parts]) for name in Judged.__dataclass_fields__))


def brier(stated: np.ndarray, bad: np.ndarray) -> float:
    """Mean square difference of what was stated and what is true (Brier 1950)."""
    return float(np.mean((stated - bad) ** 2))


def flags_as_chance(flags: np.ndarray, learned_from: Judged) -> np.ndarray:
    """Turn a number of red flags into the frequency of bad items with as many flags among other items."""
    most = 8
    counts = np.minimum(learned_from.flags, most)
    table = np.array([(learned_from.bad[counts == n].sum() + 0.01) / ((counts == n).sum() + 1) for n in range(most + 1)])
    return table[np.minimum(flags, most)]


def reliability(stated: np.ndarray, bad: np.ndarray) -> list[tuple[int, float, float]]:
    """Return (items, mean stated, share truly bad) for each band of stated chance that has items."""
    band = np.digitize(stated, EDGES[1:-1])
    return [(int((band == n).sum()), float(stated[band == n].mean()), float(bad[band == n].mean())) for n in np.unique(band)]


def main() -> None:
    """Print the tables."""
    count, items = (int(sys.argv[n]) if len(sys.argv) > n else default for n, default in ((1, 40), (2, 20_000)))
    judged, others = worlds(count, items, 1), worlds(count, items, 2)
    print(f"{len(judged.bad)} items in {count} worlds, {judged.bad.mean():.2%} bad")
    print("level      items   stated   truly bad   of all bad")
    for level in LEVELS:
        mine = judged.level == level
        found = judged.bad[mine].sum() / judged.bad.sum()
        print(f"{level:9}{mine.sum():8}{judged.tool[mine].mean():9.1%}{judged.bad[mine].mean():11.1%}{found:12.1%}")
    print("stated     items   truly bad")
    for number, stated, true in reliability(judged.tool, judged.bad):
        print(f"{stated:8.2%}{number:9}{true:11.2%}")
    chances = {
        "base rate only": np.full(len(judged.bad), others.bad.mean()),
        "count of flags": flags_as_chance(judged.flags, others),
        "plain product": judged.product,
        "tool": judged.tool,
    }
    print("Brier score (less is better)")
    for name, stated in chances.items():
        print(f"{name:16}{brier(stated, judged.bad):9.5f}")


if __name__ == "__main__":
    main()
