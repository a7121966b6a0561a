"""Indicators to one level of suspicion.

Likelihood ratios multiply, so decibels add; but indicators of one group may have one cause, so only the strongest
of a group counts fully and the others at most half. "Strong" needs two independent groups, or one indicator that
stands alone. The words and limits are settings in reference_specs/indicators.toml.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

from screener.screening.model import Suspicion, WeighedIndicator

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.screening.model import Finding, Level
    from screener.specs.screening_rules import Indicator, SuspicionSettings

SHARE_OF_FURTHER = 0.5
INDEPENDENT_FROM_DB = 5.0
"""A group lends support to "strong" only from here on: two groups of trifles are not two groups of strong evidence."""


def weigh(findings: Iterable[Finding], indicators: Mapping[str, Indicator], settings: SuspicionSettings) -> Suspicion:
    """Total the indicators that the findings name; each indicator counts once however often it was found."""
    seen = dict.fromkeys(f.indicator for f in findings if f.indicator is not None)
    groups: dict[str, list[Indicator]] = defaultdict(list)
    for name in seen:
        groups[indicators[name].group].append(indicators[name])
    weighed = tuple(w for members in groups.values() for w in _weigh_group(members))
    total = sum(w.db for w in weighed)
    return Suspicion(
        level=_level(total, weighed, indicators, settings),
        ratio_db=round(total, 1),
        low_db=round(sum(w.db_low for w in weighed), 1),
        high_db=round(sum(w.db_high for w in weighed), 1),
        indicators=weighed,
    )


def decibels(ratio: float) -> float:
    """A likelihood ratio in dB: 10 = 10 dB, 100 = 20 dB."""
    return 10 * math.log10(ratio)


def _weigh_group(members: list[Indicator]) -> list[WeighedIndicator]:
    strongest_first = sorted(members, key=lambda m: m.ratio, reverse=True)
    return [_weighed(m, 1.0 if place == 0 else SHARE_OF_FURTHER) for place, m in enumerate(strongest_first)]


def _weighed(indicator: Indicator, share: float) -> WeighedIndicator:
    return WeighedIndicator(
        indicator=indicator.id,
        group=indicator.group,
        db=share * decibels(indicator.ratio),
        db_low=share * decibels(indicator.ratio_low),
        db_high=share * decibels(indicator.ratio_high),
        share=share,
        says=indicator.says,
    )


def _level(
    total_db: float,
    weighed: tuple[WeighedIndicator, ...],
    indicators: Mapping[str, Indicator],
    settings: SuspicionSettings,
) -> Level:
    alone = any(indicators[w.indicator].alone_enough_for_strong for w in weighed)
    supporting = {w.group for w in weighed if w.db >= INDEPENDENT_FROM_DB}
    if total_db >= settings.strong_from_db and (alone or len(supporting) >= 2):
        return "strong"
    if total_db >= settings.moderate_from_db:
        return "moderate"
    return "weak" if total_db >= settings.weak_from_db else "none"
