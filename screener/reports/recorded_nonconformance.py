"""The report to the supplier of an item as it stands in the record, with the delivery it came in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener import __version__
from screener.records.purchases import Purchase
from screener.reports.delivery_report import now_in_words
from screener.reports.nonconformance import nonconformance
from screener.reports.record_photos import photos_in

if TYPE_CHECKING:
    from screener.records.model import StoredItem
    from screener.records.purchases import Shop
    from screener.records.record import Record
    from screener.reports.nonconformance import Nonconformance


def recorded_nonconformance(
    record: Record, stored: StoredItem, *, shop: Shop | None = None, purchase: Purchase | None = None
) -> Nonconformance:
    """Set out the report of one item, as `nonconformance`, with the photos and the other items of its run.

    Sender and purchase are those of the record; of a field that is given, the given one.

    Raises
    ------
    WrongUsage
        Nothing was found that a supplier could answer.
    """
    return nonconformance(
        stored,
        created_at=now_in_words(),
        version=__version__,
        order_name=record.run(stored.run_id).order_name,
        shop=shop or record.shop(),
        purchase=(purchase or Purchase()).over(record.purchase(stored.run_id, stored.line)),
        same_run=_delivery(record, stored),
        photo=photos_in(record),
    )


def _delivery(record: Record, stored: StoredItem) -> list[StoredItem]:
    """Return the items of the run; those of the same line with what people decided on them."""
    found = list(record.items(run=stored.run_id))
    line = [each.id for each in found if each.line == stored.line]
    events = record.events(item_ids=line)
    return [
        replace(each, events=tuple(e for e in events if e.item_id == each.id)) if each.line == stored.line else each
        for each in found
    ]
