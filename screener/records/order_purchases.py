"""What an order list says about the purchase, kept with the delivery that was received by it."""

from __future__ import annotations

from collections.abc import Sequence

from screener.records.order_model import OrderLine
from screener.records.purchases import Purchase
from screener.records.record import Record


def keep_order_purchases(record: Record, run_id: int, lines: Sequence[OrderLine], *, who: str = "") -> None:
    """Keep what an order list says of its purchase: once for the delivery, and for each line that says otherwise.

    A delivery that already knows something keeps it: a run that goes on says nothing twice.
    """
    said = [(line.line, purchase_of_line(line)) for line in lines]
    for line, purchase in (("", _of_all([each for _, each in said])), *said):
        known = record.purchase(run_id, line)
        if purchase.over(known) != known:
            record.keep_purchase(run_id, purchase, line=line, who=who)


def purchase_of_line(line: OrderLine) -> Purchase:
    """Return what an order line says about the purchase."""
    return Purchase(
        order_number=line.order_number or "",
        delivery_note=line.delivery_note or "",
        address=line.supplier_address or "",
        contact=line.supplier_contact or "",
        received=line.received,
    )


def _of_all(said: Sequence[Purchase]) -> Purchase:
    """Return the order number and delivery note if the list names only one: of two, either would be a guess."""
    return Purchase(_only({each.order_number for each in said}), _only({each.delivery_note for each in said}))


def _only(named: set[str]) -> str:
    found = named - {""}
    return found.pop() if len(found) == 1 else ""
