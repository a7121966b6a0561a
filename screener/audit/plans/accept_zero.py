"""Plans that accept on none found (c = 0), sized for this very lot by the exact (hypergeometric) chance.

They suit single lots: the question is how bad a lot may be before the sample almost surely shows it, not how good the
supplier's process is over many lots. One found means that the lot is not accepted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from screener.audit.plans.oc import Rule, share_at, units_for_seeing
from screener.audit.plans.single import PER_100_ABOVE, known_aql, single_plan
from screener.errors import WrongUsage
from screener.specs.sampling import Level

USUAL_RISK = 0.10
"""Consumer's risk as sampling tables usually take it (MIL-STD-105E, tables VI: limiting quality at 10 %)."""


@dataclass(frozen=True, slots=True)
class ZeroPlan:
    """Look at ``sample_units`` of ``lot_units``; one found means not accepted.

    A lot with ``bad_units`` nonconforming is accepted with a chance of at most ``risk``.
    """

    lot_units: int
    sample_units: int
    bad_units: int
    risk: float
    basis: str
    """Where ``bad_units`` comes from, in words."""
    accept: int = 0
    reject: int = 1

    @property
    def whole_lot(self) -> bool:
        """Whether every unit is looked at."""
        return self.sample_units >= self.lot_units


def units_of_percent(lot_units: int, percent: float) -> int:
    """Return the smallest number of units that is at least so many percent of the lot, never below one."""
    return max(1, math.ceil(lot_units * percent / 100.0 - 1e-9))


def zero_plan_by_limit(lot_units: int, limit_percent: float, risk: float = USUAL_RISK) -> ZeroPlan:
    """Return the smallest sample that accepts a lot of limiting quality with at most this risk.

    Parameters
    ----------
    limit_percent
        Limiting quality (LTPD): percent nonconforming that must not slip through. Above 0, at most 100.
    risk
        Consumer's risk, above 0 and below 1.

    Raises
    ------
    WrongUsage
        A limit or risk outside these.
    """
    if not 0.0 < limit_percent <= 100.0:
        raise WrongUsage(f"a limit of {limit_percent:g} % makes no plan.", where="--ltpd", next_step="Above 0 to 100.")
    if not 0.0 < risk < 1.0:
        raise WrongUsage(f"a risk of {risk:g} makes no plan.", where="--risk", next_step="Between 0 and 100 %.")
    bad = units_of_percent(lot_units, limit_percent)
    return _sized(lot_units, bad, risk, f"limiting quality {limit_percent:g} %")


def zero_plan_by_aql(lot_units: int, aql: str | float, level: Level = "II", risk: float = USUAL_RISK) -> ZeroPlan:
    """Return the smallest c = 0 sample that protects as well as the normal single plan of this AQL in this lot.

    "As well" means: the number of nonconforming units that the table's plan lets through with at most ``risk``, this
    one lets through with at most ``risk`` too.

    Raises
    ------
    WrongUsage
        No such AQL, or one above 10: counts of nonconformities per 100 units have no share of units to catch.
    """
    name = known_aql(aql)
    if float(name) > PER_100_ABOVE:
        raise WrongUsage(
            f"AQL {name} counts nonconformities per 100 units; accept-on-zero needs a share of units.",
            where="--aql",
            next_step="Take an AQL up to 10, or --ltpd.",
        )
    plan = single_plan(lot_units, name, level)
    point = share_at(Rule(lot_units, plan.sample_units, plan.accept, "hypergeometric"), risk)
    basis = f"as sharp as the table's plan for AQL {name} (n {plan.sample_units}, Ac {plan.accept})"
    return _sized(lot_units, max(1, point.units or 1), risk, basis)


def _sized(lot_units: int, bad_units: int, risk: float, basis: str) -> ZeroPlan:
    if lot_units < 1:
        raise WrongUsage("a lot has at least one unit.", where="--lot")
    return ZeroPlan(lot_units, units_for_seeing(lot_units, bad_units, 1.0 - risk), bad_units, risk, basis)
