"""A plan for one lot, whole: how many, which ones, what to do on each, what it can and cannot tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from screener.audit.plans.accept_zero import (
    USUAL_RISK,
    ZeroPlan,
    units_of_percent,
    zero_plan_by_aql,
    zero_plan_by_limit,
)
from screener.audit.plans.chances import Model
from screener.audit.plans.draw import Draw, box_sizes, draw_units
from screener.audit.plans.oc import (
    Point,
    Rule,
    chance_of_seeing,
    curve,
    model_for,
    outgoing_curve,
    outgoing_limit,
    share_at,
    units_for_seeing,
)
from screener.audit.plans.single import SinglePlan, known_aql, single_plan
from screener.audit.plans.switching import State, Step, read_history, walk
from screener.errors import WrongUsage
from screener.specs.sampling import SEVERITIES, Level, Severity, UnitStep, unit_steps

_SUSPECT_PERCENT = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
_SURE = 0.95
MOST_UNITS = 10_000_000
_MOST_DRAWN = 100_000


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What the user asks for. ``limit_percent`` is the limiting quality (LTPD), ``risk`` the consumer's risk at it."""

    lot_units: int
    aql: str = "1.0"
    level: Level = "II"
    severity: Severity | None = None
    """None: normal, or what the history says."""
    accept_zero: bool = False
    limit_percent: float | None = None
    risk: float = USUAL_RISK
    history: tuple[str, ...] = ()
    reduced_allowed: bool = False
    boxes: int | None = None
    per_box: int | None = None
    seed: int = 1
    kind: str = "bearing"
    model: Model | None = None
    """None: the one that fits lot and AQL."""


@dataclass(frozen=True, slots=True)
class Seeing:
    """Chance that at least one of ``bad_units`` is among those drawn, and how many would show one in 95 of 100 lots."""

    bad_units: int
    chance: float
    units_for_95: int


@dataclass(frozen=True, slots=True)
class Telling:
    """What the plan can tell, in numbers. Shares are of units, or nonconformities a unit (model ``poisson``)."""

    model: Model
    producers_risk: Point | None
    """Chance that a lot of AQL quality is not accepted; None where no AQL was asked for."""
    consumers_risk: Point | None
    """Chance that a lot of limiting quality is accepted; None where no limit was given."""
    accepted_95: Point
    """Where 95 of 100 lots are still accepted (never better than the point's chance says)."""
    accepted_50: Point
    accepted_10: Point
    outgoing_limit: Point
    """Worst average outgoing quality; its ``chance`` holds the share that is left."""
    looked_at_units: float
    """Units looked at on average at AQL quality (at the 95 % point where there is no AQL), sorting included."""


@dataclass(frozen=True, slots=True)
class Planned:
    """The whole answer."""

    request: PlanRequest
    plan: SinglePlan | ZeroPlan
    severity: Severity
    telling: Telling
    operating: tuple[Point, ...]
    outgoing: tuple[Point, ...]
    seeing: tuple[Seeing, ...]
    draw: Draw
    steps: tuple[UnitStep, ...]
    switching: tuple[Step, ...] = ()
    others: tuple[tuple[str, tuple[Point, ...]], ...] = field(default=())
    """Operating characteristics of the other severities, by name, to be plotted beside."""

    @property
    def stopped(self) -> bool:
        """Whether the history says that nothing is accepted by sample any more."""
        return bool(self.switching) and self.switching[-1].after.stage == "stopped"

    @property
    def state(self) -> State | None:
        """Where the supplier stands after the history; None without one."""
        return self.switching[-1].after if self.switching else None


def plan_lot(request: PlanRequest) -> Planned:
    """Return the plan for a lot.

    Raises
    ------
    WrongUsage
        A lot that cannot be sampled, an AQL the tables do not have, boxes that do not hold the lot, a history that
        cannot be read, or a severity given beside a history.
    """
    if request.lot_units > MOST_UNITS:
        raise WrongUsage("that is no lot that anybody counts.", where="--lot", next_step=f"At most {MOST_UNITS}.")
    switching = _walked(request)
    severity = switching[-1].after.severity if switching else request.severity or "normal"
    plan = _sized(request, severity)
    if plan.sample_units > _MOST_DRAWN:
        raise WrongUsage(
            f"{plan.sample_units} units would have to be looked at.", where="--ltpd", next_step="Take a larger limit."
        )
    model = request.model or _model(plan)
    rule = rule_of(plan, model)
    return Planned(
        request=request,
        plan=plan,
        severity=severity,
        telling=_telling(request, rule),
        operating=curve(rule),
        outgoing=outgoing_curve(rule),
        seeing=_seeing(plan.lot_units, plan.sample_units),
        draw=draw_units(box_sizes(request.lot_units, request.boxes, request.per_box), plan.sample_units, request.seed),
        steps=unit_steps(request.kind),
        switching=switching,
        others=_others(request, severity, model),
    )


def rule_of(plan: SinglePlan | ZeroPlan, model: Model) -> Rule:
    """Return what a plan's chances are computed from: a count between Ac and Re of a reduced plan accepts the lot."""
    return Rule(plan.lot_units, plan.sample_units, plan.reject - 1, model)


def _walked(request: PlanRequest) -> tuple[Step, ...]:
    if not request.history:
        return ()
    if request.accept_zero:
        raise WrongUsage("switching belongs to AQL plans, not to accept-on-zero.", where="--history")
    if request.severity is not None:
        raise WrongUsage(
            "the history says how severe to inspect.", where="--severity", next_step="Leave one of the two away."
        )
    lots = read_history(request.history, request.lot_units)
    return walk(lots, request.aql, request.level, reduced_allowed=request.reduced_allowed)


def _sized(request: PlanRequest, severity: Severity) -> SinglePlan | ZeroPlan:
    if not request.accept_zero:
        return single_plan(request.lot_units, request.aql, request.level, severity)
    if request.limit_percent is not None:
        return zero_plan_by_limit(request.lot_units, request.limit_percent, request.risk)
    return zero_plan_by_aql(request.lot_units, request.aql, request.level, request.risk)


def _model(plan: SinglePlan | ZeroPlan) -> Model:
    if isinstance(plan, ZeroPlan):
        return "hypergeometric"
    return model_for(plan.lot_units, plan.sample_units, per_100=plan.per_100)


def _telling(request: PlanRequest, rule: Rule) -> Telling:
    good = share_at(rule, 0.95) if rule.model != "hypergeometric" else _still_95(rule)
    producers = _at_aql(request, rule)
    return Telling(
        model=rule.model,
        producers_risk=producers,
        consumers_risk=_at_limit(request, rule),
        accepted_95=good,
        accepted_50=share_at(rule, 0.50),
        accepted_10=share_at(rule, 0.10),
        outgoing_limit=outgoing_limit(rule),
        looked_at_units=rule.looked_at((producers or good).share),
    )


def _still_95(rule: Rule) -> Point:
    """Return the largest whole number of nonconforming units that is accepted 95 times in 100 or more."""
    below = share_at(rule, 0.95)
    units = below.units or 0
    if rule.accepted_with(units) < 0.95:
        units = max(0, units - 1)
    return Point(units / rule.lot_units, rule.accepted_with(units), units)


def _at_aql(request: PlanRequest, rule: Rule) -> Point | None:
    if request.accept_zero and request.limit_percent is not None:
        return None
    percent = float(known_aql(request.aql))
    if rule.model != "hypergeometric":
        return Point(percent / 100.0, 1.0 - rule.accepted(percent / 100.0))
    # A lot of whole units is of AQL quality when it holds no more than that share.
    units = int(rule.lot_units * percent / 100.0 + 1e-9)
    return Point(units / rule.lot_units, 1.0 - rule.accepted_with(units), units)


def _at_limit(request: PlanRequest, rule: Rule) -> Point | None:
    if request.limit_percent is None:
        return None
    if rule.model != "hypergeometric":
        return Point(request.limit_percent / 100.0, rule.accepted(request.limit_percent / 100.0))
    units = units_of_percent(rule.lot_units, request.limit_percent)
    return Point(units / rule.lot_units, rule.accepted_with(units), units)


def _seeing(lot_units: int, sample_units: int) -> tuple[Seeing, ...]:
    counts = sorted({1, *(units_of_percent(lot_units, each) for each in _SUSPECT_PERCENT)})
    return tuple(
        Seeing(bad, chance_of_seeing(lot_units, bad, sample_units), units_for_seeing(lot_units, bad, _SURE))
        for bad in counts
    )


def _others(request: PlanRequest, severity: Severity, model: Model) -> tuple[tuple[str, tuple[Point, ...]], ...]:
    if request.accept_zero:
        plan = None if request.limit_percent is not None else single_plan(request.lot_units, request.aql, request.level)
        return () if plan is None else ((_named("table's plan", plan), _curve_of(plan, model)),)
    plans: Sequence[SinglePlan] = [
        single_plan(request.lot_units, request.aql, request.level, each) for each in SEVERITIES if each != severity
    ]
    return tuple((_named(plan.severity, plan), _curve_of(plan, model)) for plan in plans)


def _named(word: str, plan: SinglePlan) -> str:
    return f"{word}: n {plan.sample_units}, Ac {plan.accept}, Re {plan.reject}"


def _curve_of(plan: SinglePlan, model: Model) -> tuple[Point, ...]:
    return curve(rule_of(plan, model))
