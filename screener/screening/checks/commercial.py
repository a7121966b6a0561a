"""How the part was bought: price, seller, time, papers, as far as the order tells. Weighed low, no reason by itself.

An unknown or a cheap seller mostly sells good parts. Who the seller is moves the share of bad items expected beforehand
(`supplier_class`), not a ratio: counting it in both would count it twice.
"""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked
from screener.screening.model import Finding
from screener.specs.screening_rules import finding_kinds

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.screening.model import Item, Surroundings, Trade

FAR_BELOW = 0.6
"""Share of the shop's own median price (judgement)."""
LEAST_PRICES = 5
"""Earlier prices below which there is no history to speak of (judgement)."""
MUCH_FASTER = 0.5
LEAST_USUAL_DAYS = 5


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Hold what the order says about price, seller and papers against what is usual here."""
    trade = item.requirement.trade
    if trade is None:
        return Checked()
    return Checked(findings=(*_price(trade, surroundings.prices_before), *_told(trade)))


def supplier_class(item: Item, surroundings: Surroundings) -> str:
    """Return the id of the kind of seller in indicators.toml; empty for an ordinary one."""
    trade = item.requirement.trade
    if trade is None:
        return ""
    if trade.seller_authorised:
        return "authorised"
    this_year = int(surroundings.today[:4])
    return "new" if trade.seller_known_since is not None and trade.seller_known_since >= this_year else ""


def part_key(item: Item) -> str:
    """What prices are compared by: the part with what its price hangs on; empty for one not understood."""
    part = item.requirement.explained
    if not part.understood:
        return ""
    closure = f"{part.closure.kind}{part.closure.sides}" if part.closure else ""
    return " ".join(str(word or "-") for word in (part.basic, closure, part.material, part.cage))


def _price(trade: Trade, before: tuple[float, ...]) -> Iterator[Finding]:
    if trade.unit_price is None or len(before) < LEAST_PRICES:
        return
    usual = median(before)
    if trade.unit_price < FAR_BELOW * usual:
        share = trade.unit_price / usual
        yield _note_to_weigh(
            "price_low",
            f"{trade.unit_price:.2f} {trade.currency} each, {share:.0%} of the median of {len(before)} earlier prices.",
            f"this shop's own prices; far below = under {FAR_BELOW:.0%} of their median (judgement)",
        )


def _told(trade: Trade) -> Iterator[Finding]:
    if trade.chain_of_sale is False:
        yield _note_to_weigh("seller_new", "The order says that no chain of sale to the maker is shown.", "order line")
    if trade.papers is False:
        yield _note_to_weigh("papers_missing", "The order says that papers are missing.", "order line")
    lead, usual = trade.lead_days, trade.usual_days
    if lead is not None and usual is not None and usual >= LEAST_USUAL_DAYS and lead < MUCH_FASTER * usual:
        says = f"Delivered in {lead} days where {usual} are usual."
        yield _note_to_weigh("delivered_fast", says, "order line; much faster = under half (judgement)")


def _note_to_weigh(code: str, says: str, rests_on: str) -> Finding:
    return Finding(code, "question", "suspicion", says, rests_on, indicator=finding_kinds()[code].indicator)
