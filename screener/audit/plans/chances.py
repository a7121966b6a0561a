"""Chance that a sample shows at most so many nonconforming: exact, from integers where the lot is finite."""

from __future__ import annotations

import math
from typing import Literal

Model = Literal["hypergeometric", "binomial", "poisson"]
_NOTHING = 1e-18


def at_most_in_lot(found: int, lot_units: int, bad_units: int, sample_units: int) -> float:
    """Return P(at most ``found`` of ``sample_units`` drawn without putting back are among the ``bad_units``).

    The sum is one of whole numbers, so it is right to the last digit (hypergeometric distribution).
    """
    if found == 0:
        return none_in_lot(lot_units, bad_units, sample_units)
    good = lot_units - bad_units
    lowest, highest = max(0, sample_units - good), min(found, bad_units, sample_units)
    if highest < lowest:
        return 0.0
    ways = math.comb(bad_units, lowest) * math.comb(good, sample_units - lowest)
    total = ways
    for count in range(lowest, highest):
        up = (bad_units - count) * (sample_units - count)
        ways = ways * up // ((count + 1) * (good - sample_units + count + 1))
        total += ways
    return total / math.comb(lot_units, sample_units)


def none_in_lot(lot_units: int, bad_units: int, sample_units: int) -> float:
    """Return P(none of the bad units is drawn); quick for any lot, right to about 1e-13."""
    fewer, more = sorted((bad_units, sample_units))
    chance = 1.0
    for number in range(fewer):
        chance *= max(0.0, (lot_units - more - number) / (lot_units - number))
        if chance < _NOTHING:
            return 0.0
    return chance


def at_most_of_process(found: int, sample_units: int, share: float) -> float:
    """Return P(at most ``found`` of ``sample_units``) from a process with this share nonconforming (binomial)."""
    if share <= 0.0 or found >= sample_units:
        return 1.0
    if share >= 1.0:
        return 0.0
    terms = (_binomial(count, sample_units, share) for count in range(found + 1))
    return min(1.0, math.fsum(terms))


def _binomial(count: int, size: int, share: float) -> float:
    log_rest = (size - count) * math.log1p(-share)
    return math.exp(math.log(math.comb(size, count)) + count * math.log(share) + log_rest)


def at_most_per_unit(found: int, sample_units: int, per_unit: float) -> float:
    """Return P(at most ``found`` nonconformities on ``sample_units``) at so many a unit on average (Poisson)."""
    mean = sample_units * per_unit
    if mean <= 0.0:
        return 1.0
    terms = (math.exp(count * math.log(mean) - mean - math.lgamma(count + 1)) for count in range(found + 1))
    return min(1.0, math.fsum(terms))
