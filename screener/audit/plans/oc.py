"""What a plan can tell: operating characteristic, average outgoing quality, risks.

Shares are of units (0.01 is 1 %), for AQLs above 10 nonconformities a unit. Definitions: ISO 2859-1, clause 3 and
MIL-STD-105E, 3 and 4.11: producer's risk is the chance that a lot of AQL quality is not accepted, consumer's risk the
chance that a lot of limiting quality is; average outgoing quality supposes that a lot not accepted is looked through
whole and everything nonconforming found is replaced.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from screener.audit.plans.chances import (
    Model,
    at_most_in_lot,
    at_most_of_process,
    at_most_per_unit,
    none_in_lot,
)

SMALL_LOT_TIMES = 10
"""Below so many times the sample a lot counts as small: what is drawn changes what is left (common practice)."""
_POINTS = 100


@dataclass(frozen=True, slots=True)
class Rule:
    """Accept up to ``accept`` found on ``sample_units`` out of ``lot_units``; all chances of this page follow."""

    lot_units: int
    sample_units: int
    accept: int
    model: Model

    def accepted(self, share: float) -> float:
        """Return the chance of acceptance at a share (or nonconformities a unit) of the lot.

        In a finite lot the nearest whole number of units counts.
        """
        if self.model == "hypergeometric":
            return self.accepted_with(round(share * self.lot_units))
        if self.model == "binomial":
            return at_most_of_process(self.accept, self.sample_units, share)
        return at_most_per_unit(self.accept, self.sample_units, share)

    def accepted_with(self, bad_units: int) -> float:
        """Return the chance of acceptance of a finite lot with so many nonconforming units."""
        return at_most_in_lot(self.accept, self.lot_units, min(bad_units, self.lot_units), self.sample_units)

    def looked_at(self, share: float) -> float:
        """Return the average number of units looked at, if a lot not accepted is looked through whole (ATI)."""
        return self.sample_units + (1.0 - self.accepted(share)) * (self.lot_units - self.sample_units)

    def outgoing(self, share: float) -> float:
        """Return the average share left in lots after inspection (AOQ)."""
        if self.model == "hypergeometric":
            return _outgoing_of_lot(self, round(share * self.lot_units))
        return share * self.accepted(share) * (1.0 - self.sample_units / self.lot_units)


@dataclass(frozen=True, slots=True)
class Point:
    """A share of the lot and the chance at it."""

    share: float
    chance: float
    units: int | None = None
    """The same as whole units of the lot, where it is finite."""


def model_for(lot_units: int, sample_units: int, *, per_100: bool) -> Model:
    """Return the distribution that fits: Poisson for counts per 100, exact for small lots, else binomial."""
    if per_100:
        return "poisson"
    return "hypergeometric" if lot_units < SMALL_LOT_TIMES * sample_units else "binomial"


def share_at(rule: Rule, chance: float) -> Point:
    """Return where the chance of acceptance has come down to ``chance``.

    Of a finite lot that is the smallest number of nonconforming units at which it is not above; if even a lot of
    nothing else is accepted more often, the whole lot is returned.
    """
    if rule.model == "hypergeometric":
        units = _first_units(rule, chance)
        return Point(units / rule.lot_units, rule.accepted_with(units), units)
    low, high = 0.0, _top(rule)
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if rule.accepted(middle) > chance else (low, middle)
    return Point(high, rule.accepted(high))


def curve(rule: Rule) -> tuple[Point, ...]:
    """Return the operating characteristic from nothing wrong to a chance of acceptance below 0.1 %."""
    return tuple(Point(share, rule.accepted(share), units) for share, units in _grid(rule))


def outgoing_curve(rule: Rule) -> tuple[Point, ...]:
    """Return the average outgoing quality over the same shares; ``chance`` holds the outgoing share."""
    return tuple(Point(share, rule.outgoing(share), units) for share, units in _grid(rule))


def outgoing_limit(rule: Rule) -> Point:
    """Return the worst average outgoing quality (AOQL) and the share at which it occurs.

    The curve rises to one top and falls, so the top lies beside the best of a coarse row of points.
    """
    points = outgoing_curve(rule)
    best = max(range(len(points)), key=lambda number: points[number].chance)
    low, high = points[max(0, best - 1)], points[min(len(points) - 1, best + 1)]
    if rule.model == "hypergeometric":
        between = range(low.units or 0, (high.units or 0) + 1)
        units = max(between, key=lambda each: _outgoing_of_lot(rule, each))
        return Point(units / rule.lot_units, _outgoing_of_lot(rule, units), units)
    share = _top_between(rule, low.share, high.share)
    return Point(share, rule.outgoing(share))


def chance_of_seeing(lot_units: int, bad_units: int, sample_units: int) -> float:
    """Return the chance that at least one of the bad units is among those drawn."""
    return 1.0 - none_in_lot(lot_units, min(bad_units, lot_units), min(sample_units, lot_units))


def units_for_seeing(lot_units: int, bad_units: int, chance: float) -> int:
    """Return how many units must be drawn to see at least one of the bad ones with at least this chance."""
    low, high = 1, lot_units
    while low < high:
        middle = (low + high) // 2
        enough = chance_of_seeing(lot_units, bad_units, middle) >= chance
        low, high = (low, middle) if enough else (middle + 1, high)
    return low


def _outgoing_of_lot(rule: Rule, bad_units: int) -> float:
    """Nonconforming units that stay, on average: those not drawn of a lot that is accepted."""
    lot, sample = rule.lot_units, rule.sample_units
    if bad_units == 0 or sample >= lot:
        return 0.0
    # Each unit left behind is equally likely to be one of the bad ones; taking it out of the lot leaves the chance
    # that the sample, drawn from the other lot - 1 units, is accepted.
    left = bad_units * (lot - sample) / lot
    return left * at_most_in_lot(rule.accept, lot - 1, bad_units - 1, sample) / lot


def _first_units(rule: Rule, chance: float) -> int:
    low, high = 0, rule.lot_units
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if rule.accepted_with(middle) <= chance else (middle + 1, high)
    return low


def _top(rule: Rule) -> float:
    """A share at which acceptance is all but out of the question."""
    if rule.model == "binomial":
        return 1.0
    return (rule.accept + 20.0 + 6.0 * math.sqrt(rule.accept + 20.0)) / rule.sample_units


@cache
def _grid(rule: Rule) -> tuple[tuple[float, int | None], ...]:
    end = share_at(rule, 0.001)
    if rule.model == "hypergeometric":
        last = end.units or 1
        units = sorted({round(number * last / _POINTS) for number in range(_POINTS + 1)})
        return tuple((each / rule.lot_units, each) for each in units)
    return tuple((number * end.share / _POINTS, None) for number in range(_POINTS + 1))


def _top_between(rule: Rule, low: float, high: float) -> float:
    for _ in range(60):
        third = (high - low) / 3
        left, right = low + third, high - third
        low, high = (left, high) if rule.outgoing(left) < rule.outgoing(right) else (low, right)
    return (low + high) / 2
