"""A sampling plan as one HTML page to print and take to the boxes. No network, no script, no colour needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from screener.audit.plans.oc import Point
from screener.audit.plans.plan_words import (
    cannot_says,
    count_says,
    do_says,
    switching_says,
    telling_says,
    where_says,
)
from screener.audit.plans.planning import Planned
from screener.reports.pages import page_templates
from screener.reports.plot_svg import Axis, Curve, Mark, Words, line_plot


@dataclass(frozen=True, slots=True)
class PageFacts:
    """What stands over the page."""

    title: str
    created_at: str
    """As shown, ``25 November 2026``."""
    version: str


def plan_html(planned: Planned, page: PageFacts) -> str:
    """Return the whole page as one string."""
    return (
        page_templates()
        .get_template("plan.html.j2")
        .render(
            page=page,
            planned=planned,
            says=do_says(planned),
            where=where_says(planned),
            count=count_says(planned),
            tells=telling_says(planned),
            cannot=cannot_says(planned),
            switching=switching_says(planned),
            operating=None if planned.stopped else Markup(operating_plot(planned)),  # noqa: S704 - made of numbers and escaped
            outgoing=None if planned.plan.whole_lot or planned.stopped else Markup(outgoing_plot(planned)),  # noqa: S704 - same
        )
    )


def operating_plot(planned: Planned) -> str:
    """Return the operating characteristic, with those of the other severities dashed beside it."""
    plan, telling = planned.plan, planned.telling
    own = f"{_name(planned)}: n {plan.sample_units}, Ac {plan.accept}, Re {plan.reject}"
    curves = [_curve(own, planned.operating), *(_curve(name, points) for name, points in planned.others)]
    marks = [Mark("95 %", 95.0, across=True), Mark("10 %", 10.0, across=True), *_quality_marks(planned)]
    says = (
        f"The chance of acceptance is {telling.accepted_95.chance * 100:.0f} % at "
        f"{telling.accepted_95.share * 100:.3g}, {telling.accepted_50.chance * 100:.0f} % at "
        f"{telling.accepted_50.share * 100:.3g} and {telling.accepted_10.chance * 100:.0f} % at "
        f"{telling.accepted_10.share * 100:.3g} {_unit(planned)}."
    )
    end = max(points.points[-1][0] for points in curves)
    x = Axis(f"In the lot: {_unit(planned)}", 0.0, end)
    return line_plot(Words("Operating characteristic", says), x, Axis("Accepted, %", 0.0, 100.0), curves, marks)


def outgoing_plot(planned: Planned) -> str:
    """Return the average outgoing quality with its limit."""
    limit = planned.telling.outgoing_limit
    end = max(point.share for point in planned.outgoing) * 100
    says = f"The average rises to {limit.chance * 100:.2g} at {limit.share * 100:.3g} {_unit(planned)} and falls again."
    return line_plot(
        Words("Average outgoing quality", says),
        Axis(f"In the lot: {_unit(planned)}", 0.0, end),
        Axis("Left after it", 0.0, limit.chance * 115.0),
        [_curve("outgoing", planned.outgoing)],
        [Mark(f"AOQL {limit.chance * 100:.2g}", limit.chance * 100, across=True)],
    )


def _quality_marks(planned: Planned) -> list[Mark]:
    telling = planned.telling
    named = (("AQL", telling.producers_risk), ("limit", telling.consumers_risk))
    return [Mark(f"{name} {at.share * 100:.3g}", at.share * 100) for name, at in named if at is not None]


def _name(planned: Planned) -> str:
    return "accept on zero" if planned.request.accept_zero else planned.severity


def _unit(planned: Planned) -> str:
    return "nonconformities per 100 units" if planned.telling.model == "poisson" else "% nonconforming"


def _curve(name: str, points: Sequence[Point]) -> Curve:
    return Curve(name, [(point.share * 100, point.chance * 100) for point in points])
