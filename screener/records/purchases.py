"""What was bought where, and who we are: what a report to a supplier names beyond the goods.

A delivery knows its purchase (order number, delivery note, the supplier's address and contact, units that came) for all
of its lines or for one of them. The shop is known once for the whole record. Nothing is changed: of each field the
newest word counts, and what was said of a line goes before what was said of the delivery.

    record.keep_purchase(run.id, Purchase(order_number="PO 4711", delivery_note="DN 88"), who="A. Clerk")
    record.purchase(run.id, "3").order_number
    record.keep_shop(Shop("Harbour Laundry", ("Quay 3", "Port Ellery")), who="A. Buyer")
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from screener.errors import WrongUsage
from screener.records.model import utc_now
from screener.records.plain_text import storable_json, storable_text
from screener.records.tables import purchases, shops

LONGEST = 500
"""Characters of one field: longer is a slip of the paste."""


@dataclass(frozen=True, slots=True)
class Purchase:
    """What is known of a purchase. What is empty is not known."""

    order_number: str = ""
    """The buyer's own number of the order (PO)."""
    delivery_note: str = ""
    address: str = ""
    """Of the supplier."""
    contact: str = ""
    """At the supplier."""
    received: int | None = None
    """Units that came."""

    def over(self, other: Purchase) -> Purchase:
        """Return this with ``other`` where this says nothing."""
        mine = {name: value for name, value in asdict(self).items() if value not in ("", None)}
        return replace(other, **mine)

    def __bool__(self) -> bool:
        """Whether anything is known."""
        return any(value not in ("", None) for value in asdict(self).values())


@dataclass(frozen=True, slots=True)
class Shop:
    """Who sends a report. What is empty is left open to be written in."""

    name: str = ""
    address: tuple[str, ...] = ()
    contact: str = ""
    signature: str = ""


def add_purchase(connection: Connection, run_id: int, line: str, purchase: Purchase, who: str) -> None:
    """Keep what is known of a run's purchase, of all lines where ``line`` is empty.

    Raises
    ------
    WrongUsage
        A field is longer than `LONGEST`, or fewer than no units came.
    """
    values = asdict(purchase)
    received = values.pop("received")
    if received is not None and received < 0:
        raise WrongUsage(f"{received} units cannot have come.", where="received")
    connection.execute(
        insert(purchases).values(
            run_id=run_id,
            line=storable_text(line),
            received=received,
            added_at=utc_now(),
            who=storable_text(who),
            **_texts(values),
        )
    )


def purchase_of(connection: Connection, run_id: int, line: str) -> Purchase:
    """Return what is known of the purchase of a line: its own words before those of the whole run."""
    rows = connection.execute(
        select(*(purchases.c[each.name] for each in fields(Purchase)))
        .where(purchases.c.run_id == run_id, purchases.c.line.in_(["", storable_text(line)]))
        .order_by(purchases.c.line == "", purchases.c.id.desc())
    )
    return _first_word(Purchase(*row) for row in rows)


def _first_word(found: Iterable[Purchase]) -> Purchase:
    known = Purchase()
    for each in found:
        known = known.over(each)
    return known


def add_shop(connection: Connection, shop: Shop, who: str) -> None:
    """Keep who sends the reports from now on.

    Raises
    ------
    WrongUsage
        The shop has no name, or a field is longer than `LONGEST`.
    """
    if not shop.name.strip():
        raise WrongUsage("a shop needs a name.", where="name", code="shop_without_name")
    texts = _texts({"name": shop.name, "contact": shop.contact, "signature": shop.signature})
    address = _texts(dict(enumerate(shop.address)))
    connection.execute(
        insert(shops).values(
            address=storable_json(list(address.values())), added_at=utc_now(), who=storable_text(who), **texts
        )
    )


def shop_now(connection: Connection) -> Shop:
    """Return who sends the reports; empty if nobody has said."""
    row = connection.execute(select(shops).order_by(shops.c.id.desc()).limit(1)).first()
    return Shop() if row is None else Shop(row.name, tuple(row.address), row.contact, row.signature)


def _texts(values: Mapping[Any, str]) -> dict[Any, str]:
    for name, value in values.items():
        if len(value) > LONGEST:
            raise WrongUsage(f"this text is longer than {LONGEST} characters.", where=str(name))
    return {name: storable_text(value.strip()) for name, value in values.items()}
