"""What confirmed outcomes teach: each indicator's ratio after its judged one is met with counts.

How often an indicator is seen on bad items, and how often on good ones, are two shares, each with a beta
distribution: the judged ratio gives the two means, `SuspicionSettings.outcome_strength` says how many confirmed items
it is worth (more for a rare sign, `LEAST_SEEN_ON_GOOD`), and counts are added (the conjugate update of a binomial
share, e.g. Gelman et al., Bayesian Data Analysis, 2.4). The judged range narrows as the standard error of the logarithm
of the ratio does.

Confirmed items are no random sample (what looked odd is asked about), which is why the judged part stays visible and
strong; an outcome taken back takes its counts with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.screening.model import Tally
    from screener.specs.screening_rules import Indicator, SuspicionSettings

MOST_ON_BAD = 0.6
"""No indicator is taken to be seen on more bad items than this before outcomes are known (judgement)."""
LEAST_SEEN_ON_GOOD = 4.0
"""A judged share of good items is worth this many sightings at least, however rare the sign: one case then moves no
ratio by more than 10 log10(5/4) = 1 dB (judgement)."""


@dataclass(frozen=True, slots=True)
class Learned:
    """An indicator as it is used now, and what moved it."""

    indicator: Indicator
    """With the ratio and range to use."""
    judged: Indicator
    tally: Tally | None = None
    share_of_bad: float = 0.0
    """Expected share of bad items on which it is seen."""
    share_of_good: float = 0.0

    @property
    def items(self) -> int:
        """Confirmed items that moved the ratio."""
        return 0 if self.tally is None else self.tally.bad + self.tally.good


def learned_indicators(
    judged: Mapping[str, Indicator], tallies: Iterable[Tally], settings: SuspicionSettings
) -> dict[str, Learned]:
    """Return every indicator as it is to be used, moved by the outcomes where there are any."""
    by_id = {t.indicator: t for t in tallies}
    return {name: learn(each, by_id.get(name), settings) for name, each in judged.items()}


def learn(judged: Indicator, tally: Tally | None, settings: SuspicionSettings) -> Learned:
    """Move one indicator by its counts; one that says nothing by its nature (ratio 1 without range) stays."""
    on_good = min(settings.seen_on_good_percent / 100, MOST_ON_BAD / judged.ratio)
    strength = max(settings.outcome_strength, LEAST_SEEN_ON_GOOD / on_good)
    on_bad = on_good * judged.ratio
    if tally is None or judged.ratio_low == judged.ratio_high:
        return Learned(judged, judged, None, on_bad, on_good)
    bad = (on_bad * strength + tally.seen_on_bad) / (strength + tally.bad)
    good = (on_good * strength + tally.seen_on_good) / (strength + tally.good)
    before = _log_variance(on_bad, strength) + _log_variance(on_good, strength)
    after = _log_variance(bad, strength + tally.bad) + _log_variance(good, strength + tally.good)
    narrower = math.sqrt(after / before)
    ratio = bad / good
    used = replace(
        judged,
        ratio=ratio,
        ratio_low=ratio * (judged.ratio_low / judged.ratio) ** narrower,
        ratio_high=ratio * (judged.ratio_high / judged.ratio) ** narrower,
    )
    return Learned(used, judged, tally, bad, good)


def _log_variance(share: float, items: float) -> float:
    """Variance of the logarithm of a share that rests on so many items (delta method)."""
    return (1 - share) / (share * items)
