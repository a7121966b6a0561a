"""Indicators to one level of suspicion.

Likelihood ratios multiply, so decibels add; but indicators with one cause are no separate evidence, so only the
strongest of a cause counts fully and the others a quarter, up to a cap. Signs of one group are taken to have one
cause; where one everyday event gives signs of several groups at once (`Indicator.shared_cause`), these count together
instead. "Strong" needs two signs of different groups and causes, or one indicator that stands alone. The words and
limits are settings in reference_specs/indicators.toml.

The range of the total is no sum of all lows: that every judgement errs to the same side at once is far less likely
than each range says. Causes were judged apart, so their half ranges add as independent errors do (root of the sum of
squares, GUM 5.1.2 for uncorrelated inputs); the signs of one cause were judged together, so there they add up (GUM
5.2.2, note 1: correlation one).
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from screener.screening.model import Suspicion, WeighedIndicator

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.screening.learning import Learned
    from screener.screening.model import Finding, Level
    from screener.specs.screening_rules import Indicator, IndicatorGroup, SuspicionSettings

SHARE_OF_FURTHER = 0.25
"""At most half by judgement; a quarter, for signs of one cause go closely together (tests/simulation takes a
correlation of 0.6)."""
INDEPENDENT_FROM_DB = 5.0
"""An indicator lends support to "strong" only from here on: two trifles are not two groups of strong evidence."""


@dataclass(frozen=True, slots=True)
class Absence:
    """What groups of signs say that were looked at and showed nothing."""

    db: float
    """At most 0."""
    half_db: float
    """Half its range: each group may say nothing, or twice as much, apart from the others (judgement)."""
    groups: tuple[str, ...]


def weigh(findings: Iterable[Finding], indicators: Mapping[str, Indicator], settings: SuspicionSettings) -> Suspicion:
    """Total the indicators that the findings name; each indicator counts once however often it was found."""
    names = dict.fromkeys(f.indicator for f in findings if f.indicator is not None)
    seen = sorted((indicators[name] for name in names), key=lambda each: each.ratio, reverse=True)
    shares = _shares(seen, settings)
    weighed = tuple(_weighed(each, shares[each.id]) for each in seen)
    total = sum(w.db for w in weighed)
    return Suspicion(
        level=_level(total, seen, settings),
        ratio_db=round(total, 1),
        low_db=round(total - _half_range(seen, [w.db - w.db_low for w in weighed]), 1),
        high_db=round(total + _half_range(seen, [w.db_high - w.db for w in weighed]), 1),
        indicators=weighed,
    )


def decibels(ratio: float) -> float:
    """A likelihood ratio in dB: 10 = 10 dB, 100 = 20 dB."""
    return 10 * math.log10(ratio)


def absence(
    looked_for: Iterable[str],
    suspicion: Suspicion,
    used: Mapping[str, Learned],
    groups: Mapping[str, IndicatorGroup],
    settings: SuspicionSettings,
) -> Absence:
    """Return what the groups that were looked at and showed nothing say.

    A sign that was looked for and not seen says (1 - share of bad items with it) / (1 - share of good ones). Signs of a
    group come together, so only the one that says most counts; in a group that shows a sign the others were further
    ones had they been seen, and they count the same quarter (`SHARE_OF_FURTHER`) when they are not. Never more than the
    whole group (`IndicatorGroup.absence_ratio`).

    Bad items are of two sorts: a share `absence_at_least` shows no sign at all, as good copies do, and the others show
    what all bad ones together are judged by (law of total probability). An item that shows a sign is of the second
    sort, so what it does not show elsewhere says more about it than about one that shows nothing.
    """
    shown = {w.group for w in suspicion.indicators if w.db > 0}
    unseen = _unseen(looked_for, suspicion, used)
    without = {name: min(says) for name, says in unseen.items() if name not in shown}
    further = {name: math.prod(says) ** SHARE_OF_FURTHER for name, says in unseen.items() if name in shown}
    absent = {name: max(ratio, groups[name].absence_ratio) for name, ratio in {**without, **further}.items()}
    by_cause: dict[str, float] = defaultdict(float)
    for w in suspicion.indicators:
        by_cause[cause_of(used[w.indicator].indicator)] += w.db
    seen = [10 ** (db / 10) for db in by_cause.values()]

    def says(groups_counted: Iterable[str]) -> float:
        ratio = _two_sorts([*seen, *(absent[name] for name in groups_counted)], settings.absence_at_least)
        return decibels(ratio) - sum(by_cause.values())

    db = says(absent)
    halves = [says(name for name in absent if name != each) - db for each in absent]
    # Two groups of signs speak for the second sort by themselves; that is left out, absence never adds to suspicion.
    return Absence(round(min(db, 0.0), 1), round(math.hypot(*halves), 1), tuple(without))


def _unseen(looked_for: Iterable[str], suspicion: Suspicion, used: Mapping[str, Learned]) -> dict[str, list[float]]:
    """What each sign says that was looked for and not seen, by group."""
    seen = {w.indicator for w in suspicion.indicators}
    ratios: dict[str, list[float]] = defaultdict(list)
    for each in (used[name] for name in looked_for if name not in seen):
        if each.indicator.ratio > 1:
            ratios[each.indicator.group].append((1 - each.share_of_bad) / (1 - each.share_of_good))
    return ratios


def _two_sorts(ratios: Iterable[float], shows_nothing: float) -> float:
    """The ratio of several causes and groups together, where a share of bad items shows what good ones show."""
    if shows_nothing >= 1:
        return 1.0
    others = math.prod(max(ratio - shows_nothing, 0.0) / (1 - shows_nothing) for ratio in ratios)
    return shows_nothing + (1 - shows_nothing) * others


def cause_of(indicator: Indicator) -> str:
    """What an indicator counts under: the everyday event that gives several signs at once, else its group."""
    return indicator.shared_cause or indicator.group


def _shares(seen: list[Indicator], settings: SuspicionSettings) -> dict[str, float]:
    """The share of each indicator, the strongest given first: fully if first of its cause, a quarter after that."""
    shares: dict[str, float] = {}
    said: dict[str, float] = {}
    for each in seen:
        cause, db = cause_of(each), decibels(each.ratio)
        if cause in said:
            cap_db = settings.group_caps_db.get(cause, settings.cap_db)
            room_db = max(cap_db - said[cause], 0.0)
            shares[each.id] = min(SHARE_OF_FURTHER, room_db / db) if db > 0 else SHARE_OF_FURTHER
        else:
            shares[each.id] = 1.0
        said[cause] = said.get(cause, 0.0) + shares[each.id] * db
    return shares


def _weighed(indicator: Indicator, share: float) -> WeighedIndicator:
    return WeighedIndicator(
        indicator=indicator.id,
        group=indicator.group,
        db=share * decibels(indicator.ratio),
        db_low=share * decibels(indicator.ratio_low),
        db_high=share * decibels(indicator.ratio_high),
        share=share,
        says=indicator.says,
        ratio=indicator.ratio,
        ratio_low=indicator.ratio_low,
        ratio_high=indicator.ratio_high,
        ordinary_causes=indicator.ordinary_causes,
        settle=indicator.settle,
    )


def _half_range(seen: list[Indicator], halves: list[float]) -> float:
    by_cause: dict[str, float] = defaultdict(float)
    for each, half in zip(seen, halves, strict=True):
        by_cause[cause_of(each)] += half
    return math.hypot(*by_cause.values())


def _level(total_db: float, seen: list[Indicator], settings: SuspicionSettings) -> Level:
    alone = any(each.alone_enough_for_strong for each in seen)
    if total_db >= settings.strong_from_db and (alone or _two_independent(seen)):
        return "strong"
    if total_db >= settings.moderate_from_db:
        return "moderate"
    return "weak" if total_db >= settings.weak_from_db else "none"


def _two_independent(seen: list[Indicator]) -> bool:
    weighty = [each for each in seen if decibels(each.ratio) >= INDEPENDENT_FROM_DB]
    return any(one.group != other.group and cause_of(one) != cause_of(other) for one, other in combinations(weighty, 2))
