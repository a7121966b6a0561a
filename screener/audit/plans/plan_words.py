"""The plan in words: what to do, what it tells, what it cannot tell. For a clerk who has never read the standard."""

from __future__ import annotations

from screener.audit.plans.accept_zero import ZeroPlan
from screener.audit.plans.oc import Point
from screener.audit.plans.planning import Planned, Seeing
from screener.audit.plans.single import SinglePlan

NOT_FOR_SUSPICION = (
    "A plan is no tool for suspicion: one unit with a strong sign of being something else than its box says holds the "
    "whole lot, whatever the counts allow."
)
JUDGES_LOTS = "This plan judges quality over many lots."
JUDGES_LOT = "This plan judges the quality of this one lot."
ASIDE = (
    "A box that was opened, re-taped or looks unlike the others: look into it as well, beside the units drawn and "
    "counted apart, never instead of one of them."
)
NOT_SEEN = "Looking says nothing about what nobody can see at the bench: steel, hardness, grease, accuracy class."
OWN_HANDS = "Draw the units yourselves; neither the supplier nor the driver picks them."

MODEL_WORDS = {
    "hypergeometric": "exact for this lot: what is drawn changes what is left (hypergeometric)",
    "binomial": "for a long run of lots from one process (binomial)",
    "poisson": "for nonconformities counted per 100 units (Poisson)",
}


def do_says(planned: Planned) -> str:
    """Return the order in one sentence: how many to draw, when to accept."""
    plan = planned.plan
    if planned.stopped:
        return (
            "Accept nothing by sample: five lots were not accepted on tightened inspection. Ask the supplier to "
            "correct first; until then look at every unit that is needed."
        )
    what = "nonconformities" if _per_100(planned) else "nonconforming units"
    if plan.whole_lot:
        take = f"Look at all {plan.lot_units} units: the sample would be as large as the lot."
    else:
        take = f"Draw {plan.sample_units} of {plan.lot_units} units and look at each."
    return f"{take} {_verdict_says(plan, what)}"


def _verdict_says(plan: SinglePlan | ZeroPlan, what: str) -> str:
    one = what.removesuffix("s") if what.endswith("units") else "nonconformity"
    if plan.accept == 0:
        accept = f"Accept if there are no {what}"
    else:
        accept = f"Accept with up to {plan.accept} {what if plan.accept > 1 else one}"
    if plan.reject == plan.accept + 1:
        return f"{accept}; with {plan.reject} or more the lot is not accepted."
    return (
        f"{accept}; with {plan.reject} or more the lot is not accepted. In between, accept this lot and go back to "
        "normal inspection."
    )


def where_says(planned: Planned) -> str:
    """Return where the numbers come from: tables, letter, arrows; or the sum behind them."""
    plan = planned.plan
    if planned.stopped:
        return "ISO 2859-1, switching rules: inspection by sample is discontinued."
    if isinstance(plan, ZeroPlan):
        return (
            f"Accept on zero, {plan.basis}: a lot with {plan.bad_units} of {plan.lot_units} nonconforming is accepted "
            f"at most {plan.risk * 100:g} times in 100 (computed for this lot, no table)."
        )
    arrow = f", arrow to {plan.used_letter}" if plan.used_letter != plan.letter else ""
    asked = f"{plan.severity}, level {plan.level}, AQL {plan.aql}: code letter {plan.letter}{arrow}"
    if plan.severity == "reduced":
        return f"Single sampling of MIL-STD-105E, {asked}, tables I and II-C. ISO 2859-1 has reduced plans of its own."
    table = {"normal": "A", "tightened": "B"}[plan.severity]
    return (
        f"ISO 2859-1 single sampling, {asked}, tables 1 and 2-{table}; the same plan as MIL-STD-105E, tables I and "
        f"II-{table}."
    )


def count_says(planned: Planned) -> str:
    """Return how units are counted, with the boxes taken for granted: ``12 boxes; count from the top of each``."""
    draw = planned.draw
    if draw.box_count == 1:
        return "one pile or box; lay the units in one order first, then count"
    return f"{draw.box_count} boxes; count from the top of each, first layer from left to right, row by row"


def telling_says(planned: Planned) -> list[str]:
    """Return risks and averages as sentences; nothing where nothing is accepted by sample."""
    if planned.stopped:
        return []
    telling = planned.telling
    says = [f"Chances are {MODEL_WORDS[telling.model]}."]
    if telling.producers_risk is not None:
        at = telling.producers_risk
        says.append(
            f"Supplier's risk: the chance that a lot of AQL quality ({_share(planned, at)}) is not accepted is "
            f"{_in_100(at.chance)} (producer's risk)."
        )
    if telling.consumers_risk is not None:
        at = telling.consumers_risk
        says.append(
            f"Your risk: the chance that a lot of limiting quality ({_share(planned, at)}) is accepted is "
            f"{_in_100(at.chance)} (consumer's risk)."
        )
    points = (telling.accepted_95, telling.accepted_50, telling.accepted_10)
    # In a small lot two of the three points can be the same number of units.
    told = dict.fromkeys(f"{_percent(at.chance)} at {_share(planned, at)}" for at in points)
    says.append(f"Acceptance is {', '.join(told)}.")
    return says if planned.plan.whole_lot else [*says, _outgoing_says(planned)]


def _outgoing_says(planned: Planned) -> str:
    limit, at = planned.telling.outgoing_limit, planned.telling.producers_risk or planned.telling.accepted_95
    unit = "nonconformities per 100 units" if _per_100(planned) else "%"
    return (
        "If every lot not accepted is looked through whole and what is wrong replaced, what goes on the shelf is on "
        f"average never worse than {limit.chance * 100:.2g} {unit} (AOQL, reached at {_share(planned, limit)}); "
        f"{planned.telling.looked_at_units:.0f} units a lot are then looked at on average at "
        f"{_share(planned, at)} (ATI). "
        "A lot held for suspicion is not sorted and used."
    )


def cannot_says(planned: Planned) -> list[str]:
    """Return what the plan cannot tell, and the warnings."""
    seeing = planned.seeing[0]
    few = next((each for each in planned.seeing if each.bad_units > 1), seeing)
    single = isinstance(planned.plan, ZeroPlan)
    if planned.stopped:
        return [NOT_FOR_SUSPICION, NOT_SEEN, OWN_HANDS]
    says = [
        f"{JUDGES_LOT if single else JUDGES_LOTS} {NOT_FOR_SUSPICION}",
        *(_seeing_says(planned, each) for each in dict.fromkeys((seeing, few)) if not planned.plan.whole_lot),
        NOT_SEEN,
        ASIDE,
        OWN_HANDS,
    ]
    if not single:
        says.insert(
            1,
            "AQL plans work through their switching rules, over a series of lots of one supplier and maker. For a "
            "single lot of a supplier you hardly know, --accept-zero with --ltpd is the sharper question.",
        )
    return says


def _seeing_says(planned: Planned, seeing: Seeing) -> str:
    be = "is" if seeing.bad_units == 1 else "are"
    return (
        f"If {seeing.bad_units} of the {planned.plan.lot_units} units {be} suspect, the chance that this sample shows "
        f"one is {_in_100(seeing.chance)}; to see one 95 times in 100, {seeing.units_for_95} units must be drawn."
    )


def _share(planned: Planned, at: Point) -> str:
    if _per_100(planned):
        return f"{at.share * 100:.3g} nonconformities per 100 units"
    if at.units is not None:
        return f"{at.units} of {planned.plan.lot_units} nonconforming"
    return f"{at.share * 100:.3g} % nonconforming"


def _in_100(chance: float) -> str:
    """Return ``12 in 100``; very small and very large chances are not rounded to never or always."""
    if 0.0 < chance < 0.005:
        return "below 1 in 200"
    if 0.995 <= chance < 1.0:
        return "above 199 in 200"
    return f"{round(chance * 100)} in 100"


def _percent(chance: float) -> str:
    if 0.995 <= chance < 1.0:
        return "above 99 %"
    return f"{chance * 100:.0f} %"


def _per_100(planned: Planned) -> bool:
    return planned.telling.model == "poisson"


def switching_says(planned: Planned) -> list[str]:
    """Return what each lot of the history did, and what the next one gets; nothing without a history."""
    state = planned.state
    if state is None:
        return []
    lots = [f"lot {step.number}: {step.says}" for step in planned.switching]
    last = {
        "normal": f"Next lot: NORMAL (switching score {state.score} of 30).",
        "tightened": f"Next lot: TIGHTENED ({state.accepted_in_row} of 5 accepted in a row, {state.not_accepted} of 5 "
        "not accepted before the stop).",
        "reduced": "Next lot: REDUCED, as long as lots are accepted and deliveries stay steady.",
        "stopped": "Next lot: NONE by sample until the supplier corrects; `resume` in the history begins again.",
    }
    return [*lots, last[state.stage]]
