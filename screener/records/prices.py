"""Prices that were paid: kept with the item, asked for by part and currency."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import insert, not_, select

from screener.records.plain_text import storable_text
from screener.records.queries import is_superseded
from screener.records.tables import items, prices

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from screener.records.model import PriceRef

NEWEST = 200
"""Prices asked for: older ones say little about today."""


def add_price(connection: Connection, item_id: int, price: PriceRef) -> None:
    """Keep a price with its item."""
    values = {"part": storable_text(price.part), "currency": currency(price.currency), "unit_price": price.unit_price}
    connection.execute(insert(prices).values(item_id=item_id, **values))


def prices_paid(connection: Connection, part: str, of_currency: str, except_run: int | None) -> tuple[float, ...]:
    """Return the newest prices of a part in one currency, leaving out the run at work."""
    chosen = (
        select(prices.c.unit_price)
        .join(items, prices.c.item_id == items.c.id)
        .where(prices.c.part == storable_text(part), prices.c.currency == currency(of_currency), not_(is_superseded()))
        .order_by(prices.c.id.desc())
        .limit(NEWEST)
    )
    if except_run is not None:
        chosen = chosen.where(items.c.run_id != except_run)
    return tuple(connection.execute(chosen).scalars())


def currency(text: str) -> str:
    """A currency as it is compared: ``Eur`` and ``EUR`` are one; signs stay as written."""
    return storable_text(text.strip().upper())[:32]
