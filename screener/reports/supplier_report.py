"""The suppliers as one HTML page: rates with intervals, no league table. No network, no script, no colour needed."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from screener.audit import supplier_words as words
from screener.audit.suppliers import MEASURES, Measure, SupplierHistory, Suppliers
from screener.reports.pages import page_templates
from screener.reports.plan_report import PageFacts
from screener.reports.plot_svg import Axis, Interval, Mark, Words, interval_plot

HEADS: dict[Measure, str] = {"held": "Held", "sent_back": "Sent back", "suspect": "Suspect"}


def suppliers_html(suppliers: Suppliers, page: PageFacts, *, only: SupplierHistory | None = None) -> str:
    """Return the whole page as one string; with ``only`` that of one supplier, set beside all others."""
    compared = {each: words.groups_says(each, suppliers) if only is None else [] for each in MEASURES}
    shown = suppliers if only is None else replace(suppliers, histories=(only,))
    return (
        page_templates()
        .get_template("suppliers.html.j2")
        .render(
            page=page,
            suppliers=suppliers,
            measures=MEASURES,
            heads=HEADS,
            shown=shown.histories,
            compared=compared,
            beside=[] if only is None else words.beside_others_says(only, suppliers),
            priors={each: words.prior_says(each, suppliers) for each in MEASURES},
            plots={each: Markup(rates_plot(each, shown)) for each in MEASURES},  # noqa: S704 - made here, escaped
            came_says=words.came_says,
            rate_says=words.rate_says,
            shared_says=words.shared_says,
            alike_known=words.alike_known(suppliers),
            span_says=words.span_says,
            trend_says=words.trend_says,
            outcomes_says=words.outcomes_says,
            internal=words.INTERNAL,
            limits=words.LIMITS,
        )
    )


def rates_plot(measure: Measure, suppliers: Suppliers) -> str:
    """Return the intervals of all suppliers, by name."""
    rows = []
    for each in suppliers.histories:
        rate = each.rates[measure]
        note = f"{rate.count} of {rate.items}"
        rows.append(Interval(each.name, rate.own.low * 100, rate.own.high * 100, rate.count / rate.items * 100, note))
    end = max((row.high for row in rows), default=1.0)
    told = "; ".join(words.rate_says(measure, each.rates[measure]) for each in suppliers.histories[:20])
    usual = [Mark("all suppliers", suppliers.priors[measure].mean * 100)] if words.alike_known(suppliers) else []
    return interval_plot(
        Words(f"Parts {words.WORDS[measure]} by supplier", told or "No supplier."),
        Axis(f"{HEADS[measure]}, % of parts", 0.0, end),
        rows,
        usual,
    )
