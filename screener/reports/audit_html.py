"""The report of an audit as one HTML page: no network, no script, legible printed in black and white."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from screener.reports import wording
from screener.reports.audit_plots import Plot
from screener.reports.audit_report import LISTED_HEADS, LOT_HEADS, NUMBER_HEADS, AuditReport
from screener.reports.audit_texts import LIMITS, METHODS
from screener.reports.pages import page_templates
from screener.reports.plot_svg import dot_plot


def audit_html(report: AuditReport) -> Iterator[str]:
    """Yield the page piece by piece; photos are reduced one unit at a time while it is written."""
    return (
        page_templates()
        .get_template("audit.html.j2")
        .stream(
            report=report,
            draw=_draw,
            methods=METHODS,
            limits=LIMITS,
            number_heads=NUMBER_HEADS,
            listed_heads=LISTED_HEADS,
            lot_heads=LOT_HEADS,
            caution=wording.CAUTION,
        )
    )


def _draw(plot: Plot) -> Markup:
    return Markup(dot_plot(plot.words, plot.x, plot.rows, plot.marks, plot.keys))  # noqa: S704 - made of numbers and escaped
