"""A plan for other programs: the contract ``screener.plan/1``. Fields may be added, never renamed."""

from __future__ import annotations

from typing import Any

from screener.audit.plans.accept_zero import ZeroPlan
from screener.audit.plans.oc import Point
from screener.audit.plans.plan_words import cannot_says, do_says, telling_says, where_says
from screener.audit.plans.planning import Planned
from screener.audit.plans.switching import Step

SCHEMA = "screener.plan/1"


def plan_as_json(planned: Planned) -> dict[str, Any]:
    """Return the whole plan; shares are 0 to 1 (nonconformities a unit where ``model`` is ``poisson``)."""
    plan, telling = planned.plan, planned.telling
    return {
        "schema": SCHEMA,
        "says": do_says(planned),
        "where": where_says(planned),
        "lot_units": plan.lot_units,
        "sample_units": plan.sample_units,
        "accept": plan.accept,
        "reject": plan.reject,
        "whole_lot": plan.whole_lot,
        **_table_fields(planned),
        "model": telling.model,
        "producers_risk": _point(telling.producers_risk),
        "consumers_risk": _point(telling.consumers_risk),
        "accepted_95": _point(telling.accepted_95),
        "accepted_50": _point(telling.accepted_50),
        "accepted_10": _point(telling.accepted_10),
        "aoql": {"share": telling.outgoing_limit.chance, "at_share": telling.outgoing_limit.share},
        "ati_units": telling.looked_at_units,
        "oc": [_point(each) for each in planned.operating],
        "aoq": [{"share": each.share, "outgoing": each.chance} for each in planned.outgoing],
        "seeing": [
            {"bad_units": each.bad_units, "chance": each.chance, "units_for_95": each.units_for_95}
            for each in planned.seeing
        ],
        "draw": _draw(planned),
        "steps": [{"check": each.check, "does": each.does} for each in planned.steps],
        "switching": _switching(planned),
        "stopped": planned.stopped,
        "tells": telling_says(planned),
        "cannot": cannot_says(planned),
    }


def _table_fields(planned: Planned) -> dict[str, Any]:
    plan = planned.plan
    if isinstance(plan, ZeroPlan):
        return {"scheme": "accept_on_zero", "basis": plan.basis, "bad_units": plan.bad_units, "risk": plan.risk}
    return {
        "scheme": "mil_std_105e_reduced" if plan.severity == "reduced" else "iso2859_1_single",
        "aql": plan.aql,
        "level": plan.level,
        "severity": plan.severity,
        "code_letter": plan.letter,
        "used_letter": plan.used_letter,
    }


def _point(point: Point | None) -> dict[str, Any] | None:
    return None if point is None else {"share": point.share, "units": point.units, "chance": point.chance}


def _draw(planned: Planned) -> dict[str, Any]:
    boxes = [{"box": each.box, "of": each.units_in_box, "units": list(each.units)} for each in planned.draw.boxes]
    return {"seed": planned.draw.seed, "boxes": boxes}


def _switching(planned: Planned) -> dict[str, Any] | None:
    state = planned.state
    if state is None:
        return None
    return {"next": state.stage, "score": state.score, "lots": [_step(each) for each in planned.switching]}


def _step(step: Step) -> dict[str, Any]:
    return {"lot": step.number, "before": step.before.stage, "after": step.after.stage, "says": step.says}
