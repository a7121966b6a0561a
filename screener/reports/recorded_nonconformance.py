"""The report to the supplier of an item as it stands in the record, with the delivery it came in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener import __version__
from screener.records.purchases import Purchase
from screener.records.standing import standings
from screener.reports.delivery_report import now_in_words
from screener.reports.nonconformance import nonconformance
from screener.reports.record_photos import photos_in

if TYPE_CHECKING:
    from screener.records.model import StoredItem
    from screener.records.purchases import Shop
    from screener.records.record import Record
    from screener.reports.nonconformance_form import Nonconformance


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
        same_run=record.items(run=stored.run_id),
        photo=photos_in(record),
        decided=standings(record),
    )
