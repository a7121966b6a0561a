"""``screener purchase`` and ``screener shop``: what a report to a supplier names beyond the goods."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.log import existing_record
from screener.cli.output import print_json, print_plain
from screener.cli.receive import RecordOption
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.records.purchases import Purchase, Shop
    from screener.records.record import Record

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who says so.")]


def purchase_command(
    run: Annotated[int, typer.Argument(metavar="RUN", help="Number of the delivery, from `screener log runs`.")],
    *,
    line: Annotated[str, typer.Option("--line", metavar="LINE", help="One order line; by default all.")] = "",
    supplier: Annotated[
        str, typer.Option("--supplier", metavar="NAME", help="The lines of this supplier; by default all.")
    ] = "",
    order_number: Annotated[str, typer.Option("--order-number", metavar="TEXT", help="Our order number.")] = "",
    delivery_note: Annotated[str, typer.Option("--delivery-note", metavar="TEXT", help="Its number.")] = "",
    address: Annotated[str, typer.Option("--address", metavar="TEXT", help="Of the supplier.")] = "",
    contact: Annotated[str, typer.Option("--contact", metavar="TEXT", help="At the supplier.")] = "",
    received: Annotated[
        int | None, typer.Option("--received", metavar="N", help="Units of one line that came.", min=0)
    ] = None,
    by: By = "",
    record: RecordOption = None,
    as_json: AsJson = False,
) -> None:
    """Show what is known of a delivery's purchase, or add to it. The order list's own columns are known already."""
    from screener.records.purchases import Purchase

    said = Purchase(order_number, delivery_note, address, contact, received)
    with existing_record(record) as opened:
        opened.run(run)  # the number of no run is told as such
        lines = _lines_meant(opened, run, line, supplier, said)
        for each in lines:
            opened.keep_purchase(run, said, line=each, who=by)
        known = opened.purchase(run, lines[0])
    if as_json:
        print_json({"schema": "screener.purchase/1", "run": run, "line": line, **_purchase_said(known)})
        return
    _print_fields(_purchase_said(known))


def _lines_meant(record: Record, run: int, line: str, supplier: str, said: Purchase) -> list[str]:
    """Return the lines that are told about; one empty name for all of them.

    Raises
    ------
    WrongUsage
        Nothing came from that supplier, or what is said cannot hold for all lines: a letter would name another firm's
        address, or the pieces of another line.
    """
    from screener.audit.suppliers import supplier_key

    if line and supplier:
        raise WrongUsage("give --line or --supplier, not both.", where="screener purchase")
    items = list(record.items(run=run))
    names = dict.fromkeys(" ".join(each.supplier.split()) for each in items if each.supplier.strip())
    mine = [each for each in items if not supplier or supplier_key(each.supplier) == supplier_key(supplier)]
    if supplier and not mine:
        step = f"Suppliers of this delivery: {', '.join(names)}." if names else "Give --line."
        raise WrongUsage(f"nothing of run {run} came from “{supplier}”.", where="--supplier", next_step=step)
    lines = list(dict.fromkeys(each.line for each in mine if each.line))
    if said.received is not None and not line and len(lines) > 1:
        raise WrongUsage("pieces are counted line by line.", where="--received", next_step="Name the line: --line 3.")
    firm = said.address or said.contact or said.delivery_note
    if firm and not line and not supplier and len({supplier_key(name) for name in names}) > 1:
        raise WrongUsage(
            f"this delivery is from {len(names)} suppliers: {', '.join(names)}.",
            where="--address, --contact, --delivery-note",
            next_step="Say whose they are: --supplier NAME, or --line.",
        )
    return lines if supplier and lines else [line]


def shop_command(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", help="TOML: name, address (a text or a list), contact, signature."),
    ] = None,
    *,
    by: By = "",
    record: RecordOption = None,
    as_json: AsJson = False,
) -> None:
    """Show who sends the reports to suppliers, or, with a file, keep it in the record for all of them."""
    from screener.records.record import Record
    from screener.records.shop_file import read_shop

    with existing_record(record) if file is None else Record.open(record) as opened:
        if file is not None:
            opened.keep_shop(read_shop(file), who=by)
        shop = opened.shop()
    if as_json:
        print_json({"schema": "screener.shop/1", **_shop_said(shop)})
        return
    _print_fields({**_shop_said(shop), "address": ", ".join(shop.address)})


def _purchase_said(known: Purchase) -> dict[str, object]:
    return {
        "order_number": known.order_number,
        "delivery_note": known.delivery_note,
        "supplier_address": known.address,
        "supplier_contact": known.contact,
        "received": known.received,
    }


def _shop_said(shop: Shop) -> dict[str, object]:
    return {"name": shop.name, "address": list(shop.address), "contact": shop.contact, "signature": shop.signature}


def _print_fields(said: dict[str, object]) -> None:
    for name, value in said.items():
        print_plain(f"{name.replace('_', ' ')}: {'not known' if value in ('', None) else value}")
