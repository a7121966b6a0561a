"""Is the stated share truly bad? Reliability, Brier score and share of bad items by level, in simulated deliveries.

    python tests/simulation/measure_calibration.py [WORLDS] [ITEMS A WORLD] [SEED]

Beside the tool's weighing stand others that read the same signs: the number of red flags, each counted as the middle
sign of the catalogue, and the plain product of all ratios. "Told the truth" turns a score into the frequency of bad
items among as many other simulated items: the best that a score can do, and what no shop knows.
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

from screener.screening.learning import Learned, learned_indicators
from screener.screening.model import Finding, Suspicion
from screener.screening.odds import odds_db, odds_range_db
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
    low: np.ndarray
    high: np.ndarray
    product: np.ndarray
    flags: np.ndarray
    prior: np.ndarray
    """Odds before looking."""


def judge(drawn: Drawn) -> Judged:
    """Weigh every item with the tool's own weights and settings."""
    rows = [tuple(np.flatnonzero(row)) for row in drawn.seen]
    weighed = [weighing(row, unseen) for row, unseen in zip(rows, _that_speak(drawn), strict=True)]
    weighed = [replace(w, prior_percent=float(p)) for w, p in zip(weighed, drawn.prior_percent, strict=True)]
    prior = drawn.prior_percent / 100
    odds = prior / (1 - prior)
    tool = 10 ** (np.array([odds_db(w) for w in weighed]) / 10)
    low, high = 10 ** (np.array([odds_range_db(w) for w in weighed]).T / 10)
    ratios = np.array([np.prod([SIGNS[n].ratio for n in row]) for row in rows])
    product = odds * ratios
    return Judged(
        drawn.bad,
        np.array([w.level for w in weighed]),
        *(each / (1 + each) for each in (tool, low, high)),
        product / (1 + product),
        drawn.seen.sum(axis=1),
        odds,
    )


@cache
def weighing(row: tuple[int, ...], looked_for: tuple[int, ...]) -> Suspicion:
    """The tool's weighing of a set of signs, with what was looked for."""
    found = [Finding("sign_seen", "question", "suspicion", "", "", indicator=SIGNS[n].id) for n in row]
    weighed = weigh(found, indicators(), suspicion_settings())
    names = [SIGNS[n].id for n in looked_for]
    unseen = absence(names, weighed, _used(), indicator_groups(), suspicion_settings())
    return replace(weighed, absence_db=unseen.db, absence_half_db=unseen.half_db, groups_without=unseen.groups)


@cache
def _used() -> dict[str, Learned]:
    return learned_indicators(indicators(), (), suspicion_settings())


def _that_speak(drawn: Drawn) -> list[tuple[int, ...]]:
    """What was looked for: of a group that shows nothing only the weightiest sign, for the others say nothing more."""
    best = np.full((len(drawn.bad), len(indicator_groups())), -1)
    group = np.array([list(indicator_groups()).index(s.group) for s in SIGNS])
    for n in sorted(range(len(SIGNS)), key=lambda n: SIGNS[n].ratio):
        best[drawn.looked_for[:, n], group[n]] = n
    spoken = [{n for n in row if n >= 0} for row in best.tolist()]
    for item in np.flatnonzero(drawn.seen.any(axis=1)):
        shown = np.isin(group, group[drawn.seen[item]])
        spoken[item] |= set(np.flatnonzero(shown & drawn.looked_for[item]).tolist())
    return [tuple(sorted(names)) for names in spoken]


def worlds(count: int, items: int, seed: int) -> Judged:
    """Judge many worlds as one: true ratios differ from world to world as nobody knows them."""
    rng = np.random.default_rng(seed)
    parts = [judge(draw(items, rng)) for _ in range(count)]
    return Judged(*(np.concatenate([getattr(p, name) for p in parts]) for name in Judged.__dataclass_fields__))


def brier(stated: np.ndarray, bad: np.ndarray) -> float:
    """Mean square difference of what was stated and what is true (Brier 1950)."""
    return float(np.mean((stated - bad) ** 2))


def as_frequency(score: np.ndarray, other_score: np.ndarray, other_bad: np.ndarray) -> np.ndarray:
    """Turn a whole-numbered score into the frequency of bad items with that score among other items."""
    lowest, most = int(other_score.min()), int(other_score.max())
    bins = np.arange(lowest, most + 1)
    table = np.array([(other_bad[other_score == n].sum() + 0.01) / ((other_score == n).sum() + 1) for n in bins])
    return table[np.clip(score, lowest, most) - lowest]


def flags(judged: Judged) -> np.ndarray:
    """The number of red flags, eight and more as one."""
    return np.minimum(judged.flags, 8)


def total(judged: Judged) -> np.ndarray:
    """The tool's stated odds in steps of 2 dB."""
    return np.clip(np.round(10 * np.log10(judged.tool / (1 - judged.tool)) / 2), -15, 10).astype(int)


def same_for_each_flag(judged: Judged) -> np.ndarray:
    """Count flags as if each said what the middle one of the catalogue says."""
    each = np.exp(np.mean(np.log([s.ratio for s in SIGNS])))
    odds = judged.prior * each**judged.flags
    return odds / (1 + odds)


def reliability(stated: np.ndarray, bad: np.ndarray) -> list[tuple[int, float, float]]:
    """Return (items, mean stated, share truly bad) for each band of stated chance that has items."""
    band = np.digitize(stated, EDGES[1:-1])
    return [
        (int((band == n).sum()), float(stated[band == n].mean()), float(bad[band == n].mean())) for n in np.unique(band)
    ]


def say(line: str) -> None:
    """Print a line."""
    sys.stdout.write(f"{line}\n")


def main() -> None:
    """Print the tables."""
    count, items, seed = (
        int(sys.argv[n]) if len(sys.argv) > n else default for n, default in ((1, 40), (2, 20_000), (3, 501))
    )
    judged, others = worlds(count, items, seed), worlds(count, items, seed + 1)
    say(f"{len(judged.bad)} items in {count} worlds, {judged.bad.mean():.2%} bad")
    say("level      items   stated (range)          truly bad   of all bad")
    for level in LEVELS:
        mine = judged.level == level
        found = judged.bad[mine].sum() / judged.bad.sum()
        stated = f"{judged.tool[mine].mean():.1%} ({judged.low[mine].mean():.1%} to {judged.high[mine].mean():.1%})"
        say(f"{level:9}{mine.sum():8}   {stated:24}{judged.bad[mine].mean():8.1%}{found:12.1%}")
    say("stated     items   truly bad")
    for number, stated, true in reliability(judged.tool, judged.bad):
        say(f"{stated:8.2%}{number:9}{true:11.2%}")
    chances = {
        "base rate only": np.full(len(judged.bad), others.bad.mean()),
        "count of flags, each the same": same_for_each_flag(judged),
        "plain product of all ratios": judged.product,
        "tool": judged.tool,
        "count of flags, told the truth": as_frequency(flags(judged), flags(others), others.bad),
        "tool, told the truth as well": as_frequency(total(judged), total(others), others.bad),
    }
    say("Brier score (less is better)")
    for name, stated in chances.items():
        say(f"{name:32}{brier(stated, judged.bad):9.5f}")


if __name__ == "__main__":
    main()
