"""Deliveries drawn by chance: what is bad, what shows, what is looked at. No part of the tool knows any of it.

Assumptions, none of them measured:

1. The share of bad items is that of the seller's class as the settings say it (the prior is right on average), but
   differs from seller to seller: a beta distribution with the class's share as mean, worth 20 items; a delivery has
   one seller.
2. The true likelihood ratio of each sign is drawn once a world, log-normal with the judged range as its 90 %
   interval and the judged ratio as its middle: the judgement is right on average and wrong in every single case.
3. How often a sign is seen on good items is drawn once a world, log-uniform over a factor of ten up to 3 %, or to
   what keeps a sign from showing on more than 80 % of the bad items of a kind.
4. Bad items are of kinds (re-marked, used sold as new, another maker in this box, copied whole). A kind shows signs
   of its own groups only, more often for it, so that the ratio over all bad items is the true one; else it looks
   like a good one. Of five bad items two are copies so good that they show no more signs than a good item does.
5. Signs of one cause come together, on good items as on bad ones: a normal copula with correlation 0.6 within a
   cause.
6. Readings are missed: of the signs that the tool sees by itself an item shows a share to it, drawn from 0.2 to 0.9.
   A person looks through one or two of the nine groups and misses one sign in five. Nobody sees what is not there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from screener.screening.strength import seen_by_tool
from screener.screening.weighing import cause_of
from screener.specs.screening_rules import indicator_groups, indicators, supplier_classes, suspicion_settings

GROUPS = tuple(indicator_groups())
NOTHING_SHOWS: frozenset[str] = frozenset()
KINDS = (
    frozenset({"marking", "label", "condition", "papers", "seller"}),
    frozenset({"condition", "package", "marking", "papers", "seller"}),
    frozenset({"package", "label", "marking", "geometry and mass", "papers", "seller"}),
    frozenset({"package", "label", "serial", "geometry and mass", "marking", "papers", "seller", "shaft seal"}),
    NOTHING_SHOWS,
)
OF_A_KIND = (0.15, 0.15, 0.15, 0.15, 0.4)
SIGNS = tuple(each for each in indicators().values() if each.ratio > 1)
WITHIN_CAUSE = 0.6
MOST_ON_A_KIND = 0.8
SELLER_WORTH = 20
A_DELIVERY = 50


@dataclass(frozen=True)
class Drawn:
    """Items of many deliveries: what they are, and which signs were seen on them."""

    bad: np.ndarray
    """Shape (n,)."""
    prior_percent: np.ndarray
    """What the settings expect of the seller's class; shape (n,)."""
    seen: np.ndarray
    """Shape (n, signs), in the order of `SIGNS`."""
    looked_for: np.ndarray
    """Likewise."""


def draw(items: int, rng: np.random.Generator) -> Drawn:
    """Draw one world and its deliveries."""
    prior = _priors(items, rng)
    bad = rng.random(items) < _shares_of_sellers(prior, rng)
    kind = rng.choice(len(KINDS), p=OF_A_KIND, size=items)
    on_good, on_bad = _world(rng)
    chance = np.where(bad[:, None], on_bad[kind], on_good)
    present = _together(items, rng) < chance
    looked_for = _looked_for(items, rng)
    return Drawn(bad, prior, present & looked_for, looked_for)


def _looked_for(items: int, rng: np.random.Generator) -> np.ndarray:
    by_tool = np.array([s.id in seen_by_tool() for s in SIGNS])
    shown = rng.random((items, len(SIGNS))) < rng.uniform(0.2, 0.9, size=(items, 1))
    group = np.array([GROUPS.index(s.group) for s in SIGNS])
    two = rng.integers(len(GROUPS), size=(items, 2, 1))
    through = (group == two).any(axis=1) & (rng.random((items, len(SIGNS))) < 0.8)
    return (by_tool & shown) | through


def _priors(items: int, rng: np.random.Generator) -> np.ndarray:
    ordinary = suspicion_settings().prior_percent
    classes = np.array(
        [supplier_classes()["authorised"].prior_percent, ordinary, supplier_classes()["new"].prior_percent]
    )
    deliveries = rng.choice(classes, p=(0.3, 0.5, 0.2), size=-(-items // A_DELIVERY))
    return np.repeat(deliveries, A_DELIVERY)[:items]


def _shares_of_sellers(prior_percent: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    mean = prior_percent[::A_DELIVERY] / 100
    shares = rng.beta(mean * SELLER_WORTH, (1 - mean) * SELLER_WORTH)
    return np.repeat(shares, A_DELIVERY)[: len(prior_percent)]


def _world(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return how often each sign is on good items, shape (signs,), and on each kind of bad ones, (kinds, signs)."""
    low, ratio, high = (np.log([getattr(s, name) for s in SIGNS]) for name in ("ratio_low", "ratio", "ratio_high"))
    z = rng.standard_normal(len(SIGNS))
    half = np.where(z < 0, ratio - low, high - ratio) / stats.norm.ppf(0.95)
    true_ratio = np.exp(ratio + z * half)
    shows = np.array([[s.group in kind for s in SIGNS] for kind in KINDS])
    share = np.array(OF_A_KIND) @ shows
    most = np.minimum(0.03, MOST_ON_A_KIND * share / true_ratio)
    on_good = most * np.exp(rng.uniform(np.log(0.1), 0, len(SIGNS)))
    in_kind = (true_ratio - (1 - share)) * on_good / share
    return on_good, np.where(shows, in_kind, on_good)


def _together(items: int, rng: np.random.Generator) -> np.ndarray:
    """Uniform numbers, shape (items, signs), alike within a cause."""
    causes = {name: n for n, name in enumerate(dict.fromkeys(cause_of(s) for s in SIGNS))}
    common = rng.standard_normal((items, len(causes)))[:, [causes[cause_of(s)] for s in SIGNS]]
    own = rng.standard_normal((items, len(SIGNS)))
    return stats.norm.sf(np.sqrt(WITHIN_CAUSE) * common + np.sqrt(1 - WITHIN_CAUSE) * own)
