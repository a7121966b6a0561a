"""A supplier over time: how often its parts were held, sent back or suspect, honestly for small numbers.

    supplier_rates     a rate with its intervals; the prior that suppliers share
    supplier_compare   who differs beyond chance; groups that cannot be told apart
    supplier_trend     whether a rate has changed over the quarters
    supplier_words     the sentences, and the contract screener.suppliers/1

A rate says what this shop saw and ordered, not what a supplier is: a hold often means a missing photo. Nothing here
ranks anybody.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from screener.audit.batch.multiple import holm
from screener.audit.supplier_compare import Pair, groups_of, pair_chances, pairs_of
from screener.audit.supplier_rates import Count, Prior, Rate, Span, own_span, rate_of, shared_prior, spread_of
from screener.audit.supplier_trend import Delivered, Trend, trend_p

Measure = Literal["held", "sent_back", "suspect"]
MEASURES: tuple[Measure, ...] = ("held", "sent_back", "suspect")
Outcome = Literal["nonconforming", "conforming"]


@dataclass(frozen=True, slots=True)
class SupplierItem:
    """One received item, as the record has it."""

    supplier: str
    delivery: int
    """The run it came in: items of one delivery are not independent."""
    received_on: str
    """ISO date."""
    disposition: str
    """``accept``, ``hold`` or ``reject``; a person's hold or release counts."""
    suspicion: str
    """``none``, ``weak``, ``moderate`` or ``strong``."""
    family: str = ""
    maker: str = ""
    outcome: Outcome | None = None
    """What it turned out to be, if somebody has said so."""
    released: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A quarter (``2026-Q4``), a family of parts or a maker within a supplier's items, from these items alone."""

    name: str
    items: int
    deliveries: int
    counts: Mapping[Measure, int]
    spans: Mapping[Measure, Span]


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What items turned out to be, where somebody has said so."""

    nonconforming: int
    conforming: int
    released: int
    """Released by a person here."""


@dataclass(frozen=True, slots=True)
class SupplierHistory:
    """One supplier."""

    name: str
    items: int
    deliveries: int
    first_on: str
    last_on: str
    rates: Mapping[Measure, Rate]
    trends: Mapping[Measure, Trend]
    quarters: tuple[Part, ...]
    families: tuple[Part, ...]
    makers: tuple[Part, ...]
    outcomes: Outcomes


@dataclass(frozen=True, slots=True)
class Suppliers:
    """All suppliers by name, and what they have in common. ``spread`` is None where it could not be told."""

    histories: tuple[SupplierHistory, ...]
    priors: Mapping[Measure, Prior]
    spreads: Mapping[Measure, float | None]
    pairs: Mapping[Measure, tuple[Pair, ...]]
    groups: Mapping[Measure, tuple[tuple[str, ...], ...]]
    unnamed_items: int
    """Items whose order names no supplier; they count nowhere."""


def supplier_history(items: Iterable[SupplierItem]) -> Suppliers:
    """Return the history of all suppliers from recorded items, in any order."""
    known: dict[str, list[SupplierItem]] = {}
    unnamed = 0
    for item in items:
        key = supplier_key(item.supplier)
        unnamed += not key
        if key:
            known.setdefault(key, []).append(item)
    chosen = [known[key] for key in sorted(known)]
    spreads = {measure: spread_of([_by_delivery(each, measure) for each in chosen]) for measure in MEASURES}
    priors = {measure: shared_prior(_told(chosen, measure, spreads)) for measure in MEASURES}
    histories = _with_adjusted_trends([_history(each, priors, spreads) for each in chosen])
    pairs = _pairs(histories, chosen, priors, spreads)
    return Suppliers(histories, priors, spreads, pairs, _groups(histories, pairs), unnamed)


def supplier_key(name: str) -> str:
    """Return a supplier's name as names are told apart: however its letters and gaps were typed."""
    return " ".join(name.split()).casefold()


def history_of(suppliers: Suppliers, name: str) -> SupplierHistory | None:
    """Return the history of one supplier; None where nothing of it was looked at."""
    wanted = supplier_key(name)
    return next((each for each in suppliers.histories if supplier_key(each.name) == wanted), None)


def counts_for(item: SupplierItem, measure: Measure) -> bool:
    """Return whether an item counts for a rate; suspect means moderate or strong suspicion."""
    if measure == "held":
        return item.disposition == "hold"
    if measure == "sent_back":
        return item.disposition == "reject"
    return item.suspicion in {"moderate", "strong"}


def quarter_of(date: str) -> str:
    """Return the quarter of an ISO date: ``2026-Q4``."""
    return f"{date[:4]}-Q{(int(date[5:7]) + 2) // 3}"


def _count(items: Sequence[SupplierItem], measure: Measure) -> int:
    return sum(counts_for(item, measure) for item in items)


def _by_delivery(items: Sequence[SupplierItem], measure: Measure) -> list[Count]:
    return [Count(_count(each, measure), len(each)) for each in _grouped(items, lambda item: item.delivery).values()]


def _grouped(
    items: Sequence[SupplierItem], key: Callable[[SupplierItem], int | str]
) -> dict[int | str, list[SupplierItem]]:
    groups: dict[int | str, list[SupplierItem]] = {}
    for item in items:
        groups.setdefault(key(item), []).append(item)
    return groups


def _told(
    chosen: Sequence[Sequence[SupplierItem]], measure: Measure, spreads: Mapping[Measure, float | None]
) -> list[tuple[float, float]]:
    """Counts of each supplier, taken for fewer where items that come together are alike."""
    spread = spreads[measure] or 1.0
    return [(_count(items, measure) / spread, len(items) / spread) for items in chosen]


def _history(
    items: Sequence[SupplierItem], priors: Mapping[Measure, Prior], spreads: Mapping[Measure, float | None]
) -> SupplierHistory:
    dates = sorted(item.received_on for item in items)
    return SupplierHistory(
        name=_usual([" ".join(item.supplier.split()) for item in items]),
        items=len(items),
        deliveries=len({item.delivery for item in items}),
        first_on=dates[0],
        last_on=dates[-1],
        rates={each: rate_of(_whole(items, each), priors[each], spreads[each] or 1.0) for each in MEASURES},
        trends={each: trend_p(_delivered(items, each)) for each in MEASURES},
        quarters=_parts(items, lambda item: quarter_of(item.received_on)),
        families=_parts(items, lambda item: item.family),
        makers=_parts(items, lambda item: item.maker),
        outcomes=_outcomes(items),
    )


def _usual(names: Sequence[str]) -> str:
    """The spelling met most often; of equal ones the first in the alphabet."""
    counts = Counter(names)
    return min(counts, key=lambda name: (-counts[name], name))


def _whole(items: Sequence[SupplierItem], measure: Measure) -> Count:
    return Count(_count(items, measure), len(items))


def _delivered(items: Sequence[SupplierItem], measure: Measure) -> list[Delivered]:
    found = []
    for each in _grouped(items, lambda item: item.delivery).values():
        first = min(item.received_on for item in each)
        number = int(first[:4]) * 4 + (int(first[5:7]) - 1) // 3
        found.append(Delivered(number, len(each), _count(each, measure)))
    return found


def _parts(items: Sequence[SupplierItem], key: Callable[[SupplierItem], str]) -> tuple[Part, ...]:
    groups = _grouped([item for item in items if key(item)], key)
    return tuple(
        Part(str(name), len(each), len({item.delivery for item in each}), _counts(each), _spans(each))
        for name, each in sorted(groups.items(), key=lambda pair: str(pair[0]))
    )


def _counts(items: Sequence[SupplierItem]) -> dict[Measure, int]:
    return {measure: _count(items, measure) for measure in MEASURES}


def _spans(items: Sequence[SupplierItem]) -> dict[Measure, Span]:
    return {measure: own_span(count, len(items)) for measure, count in _counts(items).items()}


def _outcomes(items: Sequence[SupplierItem]) -> Outcomes:
    told = Counter(item.outcome for item in items)
    return Outcomes(told["nonconforming"], told["conforming"], sum(item.released for item in items))


def _with_adjusted_trends(histories: Sequence[SupplierHistory]) -> tuple[SupplierHistory, ...]:
    """Holm over every trend asked: of forty rates one seems to rise by chance alone."""
    asked = [trend.p for each in histories for trend in each.trends.values() if trend.p is not None]
    adjusted = iter(holm(asked))
    return tuple(
        replace(
            each,
            trends={
                measure: trend if trend.p is None else replace(trend, adjusted=next(adjusted))
                for measure, trend in each.trends.items()
            },
        )
        for each in histories
    )


def _pairs(
    histories: Sequence[SupplierHistory],
    chosen: Sequence[Sequence[SupplierItem]],
    priors: Mapping[Measure, Prior],
    spreads: Mapping[Measure, float | None],
) -> dict[Measure, tuple[Pair, ...]]:
    if len(histories) < 2:
        return dict.fromkeys(MEASURES, ())
    names = [each.name for each in histories]
    chances = [pair_chances(_told(chosen, measure, spreads), priors[measure]) for measure in MEASURES]
    return dict(zip(MEASURES, pairs_of(names, chances), strict=True))


def _groups(
    histories: Sequence[SupplierHistory], pairs: Mapping[Measure, tuple[Pair, ...]]
) -> dict[Measure, tuple[tuple[str, ...], ...]]:
    names = [each.name for each in histories]
    return {
        measure: groups_of(names, [each.rates[measure].shared_mean for each in histories], pairs[measure])
        for measure in MEASURES
    }
