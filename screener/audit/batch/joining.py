"""One number of a unit from several photos or readings."""

from __future__ import annotations

from collections.abc import Sequence

from screener.audit.batch.unit import Number


def joined(values: Sequence[Number]) -> Number:
    """Return one number from several of one unit.

    Those with an uncertainty count by its inverse square; the result is never surer than the surest, since what an
    instrument or a camera errs by is common to all its readings.
    """
    known = [(each.value, each.u) for each in values if each.u is not None and each.u > 0]
    if not known:
        return Number(sum(each.value for each in values) / len(values), None)
    weights = [1 / u**2 for _, u in known]
    mean = sum(w * value for w, (value, _) in zip(weights, known, strict=True)) / sum(weights)
    return Number(mean, min(u for _, u in known))
