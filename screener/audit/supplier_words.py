"""What is known of suppliers in sentences, and as the contract ``screener.suppliers/1`` (fields may be added only)."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from screener.audit.supplier_compare import Pair
from screener.audit.supplier_rates import Rate, Span
from screener.audit.supplier_trend import Trend
from screener.audit.suppliers import MEASURES, Measure, Outcomes, Part, SupplierHistory, Suppliers

SCHEMA = "screener.suppliers/1"
WORDS: dict[Measure, str] = {"held": "held", "sent_back": "sent back", "suspect": "suspect"}
_WIDE = 0.30
_FEW = 10
"""Below so many parts a count says nothing, whatever it is: 0 of 8 no more than 4 of 8 (judgement)."""
_ALIKE_FROM = 5
"""Fewer suppliers do not show what suppliers have in common (judgement)."""
INTERNAL = "For this shop only. A rate beside a name is not a statement about the firm; do not pass the page on."
LIMITS = (
    "“Probably” and “would fit” mean a 95 % interval: the true share lies outside it for one supplier in twenty.",
    "Held counts what waits, whatever the reason: a missing photo holds a part as well as a wrong one does.",
    "Suspect means a moderate or strong suspicion that nobody has cleared yet: the status of an item, not of a firm.",
    "A part that a person has released, or that was confirmed as conforming, counts as accepted.",
    "A part confirmed as nonconforming counts as sent back; as held where its origin is in doubt, for then it is kept.",
    "What was ordered decides what can go wrong: suppliers of other parts cannot be compared fairly by their rates.",
    "Parts that were never photographed or recorded are not in here, nor is what fails later in the machine.",
)


def rate_says(measure: Measure, rate: Rate) -> str:
    """Return a rate with its interval, and first of all whether there are parts enough to say anything."""
    seen = f"{rate.count} of {rate.items} {WORDS[measure]}"
    if rate.own.high - rate.own.low > _WIDE or rate.items < _FEW:
        parts = "1 part is" if rate.items == 1 else f"{rate.items} parts are"
        return f"{seen}; {parts} too few to say how often: anything {_hundred(rate.own, 'from', 'to')} would fit"
    share = _percent(rate.count / rate.items)
    return f"{seen}, {share} in 100; the true share is probably {_hundred(rate.own)}"


def came_says(history: SupplierHistory) -> str:
    """Return ``49 parts in 7 deliveries``."""
    parts = "1 part" if history.items == 1 else f"{history.items} parts"
    return f"{parts} in {'1 delivery' if history.deliveries == 1 else f'{history.deliveries} deliveries'}"


def span_says(span: Span) -> str:
    """Return ``between 0 and 54 %``; ends below 10 % have a decimal."""
    return f"between {_percent(span.low)} and {_percent(span.high)} %"


def shared_says(rate: Rate, suppliers: Suppliers) -> str:
    """Return what the next parts may be like if this supplier is like the others.

    With few suppliers it is not known what they have in common: no figure is told, for it would be read as this
    supplier's own.
    """
    others = len(suppliers.histories) - 1
    if others < 1:
        return "no other supplier to learn from"
    if not alike_known(suppliers):
        return f"too few other suppliers ({others}) to say what to expect of the next parts"
    return (
        f"if it is like the {others} other suppliers, expect {_percent(rate.shared_mean)} in 100 of its next parts, "
        f"{_hundred(rate.shared)}"
    )


def alike_known(suppliers: Suppliers) -> bool:
    """Return whether there are suppliers enough to say what they have in common."""
    return len(suppliers.histories) >= _ALIKE_FROM


def prior_says(measure: Measure, suppliers: Suppliers) -> str:
    """Return what went into the comparison of suppliers beside their own parts."""
    prior, spread = suppliers.priors[measure], suppliers.spreads[measure]
    says = ""
    if alike_known(suppliers):
        says = (
            f"Over all suppliers recorded here {_percent(prior.mean)} in 100 parts are {WORDS[measure]}; a supplier is "
            f"expected to be like that until its own parts say more, as if {prior.worth_items:.0f} parts had been seen."
        )
    if spread is None:
        says += " How alike the parts of one delivery are could not be told; they are counted one by one."
    elif spread > 1.05:
        says += f" Parts of one delivery are alike: {spread:.1f} of them count as one."
    return says.strip()


def groups_says(measure: Measure, suppliers: Suppliers) -> list[str]:
    """Return who cannot be told apart, and who differs beyond chance; never an order of merit."""
    groups = suppliers.groups[measure]
    if len(suppliers.histories) < 2:
        return ["One supplier: nobody to compare with."]
    if len(groups) == 1:
        return [f"{WORDS[measure].capitalize()}: they cannot be told apart; chance alone can explain the differences."]
    says = [f"Cannot be told apart in what was {WORDS[measure]}: {', '.join(group)}." for group in groups if group[1:]]
    return [*says, *(pair_says(measure, pair) for pair in suppliers.pairs[measure] if pair.differ)]


def beside_others_says(history: SupplierHistory, suppliers: Suppliers) -> list[str]:
    """Return how one supplier compares with the others, measure by measure; never an order of merit."""
    if len(suppliers.histories) < 2:
        return ["No other supplier is recorded to compare with."]
    says = []
    for measure in MEASURES:
        differ = [
            each for each in suppliers.pairs[measure] if each.differ and history.name in {each.first, each.second}
        ]
        says += [pair_says(measure, each) for each in differ]
        if not differ:
            says.append(
                f"{WORDS[measure].capitalize()}: it cannot be told apart from any other; chance can explain it."
            )
    return says


def pair_says(measure: Measure, pair: Pair) -> str:
    """Return how two suppliers compare in words, with the probability."""
    first, second = pair.first, pair.second
    chance = pair.first_higher
    if chance < 0.5:
        first, second, chance = second, first, 1.0 - chance
    sure = f"above {99.9:g}" if chance > 0.999 else f"{chance * 100:.1f}"
    return f"More was {WORDS[measure]} of {first} than of {second} (probability {sure} %; chance alone is ruled out)."


def trend_says(measure: Measure, trend: Trend) -> str:
    """Return whether the rate has changed over the quarters."""
    if trend.p is None:
        return f"{WORDS[measure].capitalize()}: too few deliveries or cases to see a change."
    if not trend.changed:
        return f"{WORDS[measure].capitalize()}: no change over the quarters that chance would not make."
    p = f"p {trend.adjusted:.2g}, all trends counted"
    return f"{WORDS[measure].capitalize()}: {trend.direction} over the quarters ({p})."


def outcomes_says(outcomes: Outcomes) -> str:
    """Return what was confirmed about single parts; beside the rates, not in them."""
    settled = outcomes.nonconforming + outcomes.conforming
    released = f"{outcomes.released} released here by a person"
    if not settled:
        return f"Nothing was confirmed yet; {released}."
    return (
        f"Confirmed: {outcomes.nonconforming} of {settled} settled parts did not conform, {outcomes.conforming} did; "
        f"{released}. Only doubtful parts are settled, so this is no rate of all."
    )


def suppliers_as_json(suppliers: Suppliers, *, only: SupplierHistory | None = None) -> dict[str, Any]:
    """Return everything as one JSON object, or what is known of one; rates and interval ends are 0 to 1."""
    return {
        "schema": SCHEMA,
        "suppliers": [_history(each) for each in (suppliers.histories if only is None else (only,))],
        "priors": {each: asdict(suppliers.priors[each]) for each in MEASURES},
        "spread": dict(suppliers.spreads),
        "pairs": {each: [_pair(pair) for pair in suppliers.pairs[each]] for each in MEASURES},
        "cannot_be_told_apart": {each: [list(group) for group in suppliers.groups[each]] for each in MEASURES},
        "unnamed_items": suppliers.unnamed_items,
        "says": {each: groups_says(each, suppliers) for each in MEASURES},
        "limits": [INTERNAL, *LIMITS],
    }


def _history(history: SupplierHistory) -> dict[str, Any]:
    return {
        "supplier": history.name,
        "items": history.items,
        "deliveries": history.deliveries,
        "first_on": history.first_on,
        "last_on": history.last_on,
        "rates": {each: {**asdict(rate), "says": rate_says(each, rate)} for each, rate in history.rates.items()},
        "trends": {each: {**asdict(trend), "changed": trend.changed} for each, trend in history.trends.items()},
        "quarters": [_part(each) for each in history.quarters],
        "families": [_part(each) for each in history.families],
        "makers": [_part(each) for each in history.makers],
        "outcomes": asdict(history.outcomes),
    }


def _part(part: Part) -> dict[str, Any]:
    spans = {measure: asdict(span) for measure, span in part.spans.items()}
    numbers = {"name": part.name, "items": part.items, "deliveries": part.deliveries}
    return {**numbers, "counts": dict(part.counts), "spans": spans}


def _pair(pair: Pair) -> dict[str, Any]:
    return {**asdict(pair), "differ": pair.differ}


def _hundred(span: Span, first: str = "between", then: str = "and") -> str:
    return f"{first} {_percent(span.low)} {then} {_percent(span.high)} in 100"


def _percent(share: float) -> str:
    percent = share * 100
    return f"{percent:.0f}" if percent >= 10 or percent == 0 else f"{percent:.1f}"
