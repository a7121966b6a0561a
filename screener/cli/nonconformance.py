"""The non-conformance report of one item: ``screener audit --item N --nonconformance FILE``."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screener.cli.log import existing_record
from screener.cli.output import messages
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.records.model import Run, StoredItem
    from screener.records.purchases import Purchase


@dataclass(frozen=True, slots=True)
class Claim:
    """What the command line says about the report."""

    target: Path | None
    item: int | None
    shop: Path | None = None
    order: Path | None = None
    received: int | None = None


def write_nonconformance(claim: Claim, record: str | None) -> None:
    """Write the report of one recorded item.

    Raises
    ------
    WrongUsage
        File and item are not both given, the file's ending is another, there is no such item, or the order is another.
    """
    target, item = claim.target, claim.item
    if target is None or item is None or target.suffix.lower() not in {".html", ".pdf"}:
        raise WrongUsage(
            "a non-conformance report needs a file that ends in .html or .pdf, and an item.",
            where="--nonconformance, --item",
            next_step="`screener log items` lists the items by their number.",
        )
    from screener.records.shop_file import read_shop
    from screener.reports.nonconformance_papers import nonconformance_html, nonconformance_pdf
    from screener.reports.recorded_nonconformance import recorded_nonconformance
    from screener.reports.whole_file import write_whole

    with existing_record(record) as opened:
        stored = opened.item(item)
        shop = None if claim.shop is None else read_shop(claim.shop)
        purchase = _purchase(claim, opened.run(stored.run_id), stored)
        set_out = recorded_nonconformance(opened, stored, shop=shop, purchase=purchase)
    pdf = target.suffix.lower() == ".pdf"
    written = write_whole(target, nonconformance_pdf(set_out) if pdf else [nonconformance_html(set_out)])
    messages.print(f"Report: {written}", markup=False, soft_wrap=True)


def _purchase(claim: Claim, run: Run, stored: StoredItem) -> Purchase:
    from screener.records.order_purchases import purchase_of_line
    from screener.records.orders import read_order
    from screener.records.purchases import Purchase

    if claim.order is None:
        return Purchase(received=claim.received)
    order = read_order(claim.order)
    if run.order_sha256 and order.sha256 != run.order_sha256:
        raise WrongUsage(
            f"this is not the order list that run {run.id} was received by.",
            where=str(claim.order),
            next_step=f"Give {run.order_name} as it was then, or leave --order out and write the number in by hand.",
        )
    line = next((each for each in order.lines if each.line == stored.line), None)
    said = Purchase() if line is None else purchase_of_line(line)
    return Purchase(received=claim.received).over(said)
