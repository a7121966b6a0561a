"""The sentences of the decisions, in a mechanic's words."""

from __future__ import annotations

from screener.metrology.decision import Limits, Verdict
from screener.metrology.estimate import Estimate
from screener.metrology.size_agreement import SizeVerdict


def reading_words(what: str, found: Estimate) -> str:
    """Return what was measured: ``bore 24.998 mm ± 0.006 (micrometer, 3 readings, out of round 0.004)``."""
    count = "1 reading" if found.readings == 1 else f"{found.readings} readings"
    around = f"± {found.below_mm:.3f}"
    if found.above_mm - found.below_mm > 0.0005:
        around = f"- {found.below_mm:.3f} / + {found.above_mm:.3f}"
    shape = "" if found.out_of_round_mm is None else f", largest minus smallest {found.out_of_round_mm:.3f}"
    return f"{what} {found.mean_mm:.3f} mm {around} ({found.instrument}, {count}{shape})"


def limits_words(limits: Limits) -> str:
    """Return the limits: ``24.990 to 25.000 mm``."""
    return f"{limits.lower_mm:.3f} to {limits.upper_mm:.3f} mm"


def size_words(size: SizeVerdict, nominal_mm: float) -> str:
    """Return whether it is the nominal size at all, the coarser question that is answered first."""
    words = {
        "agrees": f"the size {nominal_mm:g} mm agrees",
        "differs": f"this is not a size of {nominal_mm:g} mm",
        "cannot_tell": f"too coarse to tell the size {nominal_mm:g} mm",
    }
    return words[size]


def verdict_words(verdict: Verdict, found: Estimate, limits: Limits) -> str:
    """Return the decision as a sentence end."""
    within = limits_words(limits)
    if verdict == "conforms":
        return f"within {within}"
    if verdict == "does_not_conform":
        return f"{'below' if found.mean_mm < limits.lower_mm else 'above'} the limits {within}"
    # Where the reading lies is no answer here, and would be read as one.
    return f"this {found.instrument} can't tell whether it is within the limits {within}"
