"""``screener suppliers``: what came from whom over time, with intervals and without ranking.

JSON, schema ``screener.suppliers/1`` (written by `screener.audit.supplier_words`). Exit code 0; 3 where nothing was
received from the supplier named.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.log import existing_record, iso_date
from screener.cli.output import print_json, print_plain
from screener.cli.page_file import write_page
from screener.cli.receive import RecordOption
from screener.reports.page_date import today_says

if TYPE_CHECKING:
    from screener.audit.suppliers import SupplierHistory, Suppliers


def suppliers_command(
    *,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DATE", help="Only items recorded since (UTC).")
    ] = None,
    supplier: Annotated[
        str | None,
        typer.Option("--supplier", metavar="NAME", help="Only this one, with its open items and what to do next."),
    ] = None,
    html: Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write a page to print.")] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.suppliers/1.")] = False,
) -> None:
    """Show how often parts of each supplier were held, sent back or suspect, honestly for small numbers."""
    from screener.audit.supplier_words import suppliers_as_json
    from screener.audit.suppliers import supplier_history
    from screener.cli.one_supplier import chosen_history, next_steps, open_as_json, print_one
    from screener.records.supplier_items import open_items, supplier_items

    with existing_record(record) as opened:
        found = supplier_history(supplier_items(opened, since=iso_date(since)))
        if supplier is not None:
            one = chosen_history(found, supplier, opened.place.says)
            waiting = list(open_items(opened, supplier, since=iso_date(since)))
    if html is not None:
        _write_page(html, found, only=None if supplier is None else one)
    if supplier is None:
        if as_json:
            print_json(suppliers_as_json(found))
        else:
            _print_suppliers(found)
            print_plain("One of them with its open items: screener suppliers --supplier NAME")
    elif as_json:
        told = {"open_items": open_as_json(waiting), "next_steps": next_steps(one, waiting, record)}
        print_json({**suppliers_as_json(found, only=one), **told})
    else:
        print_one(one, found, waiting, record)


def _print_suppliers(suppliers: Suppliers) -> None:
    from screener.audit.supplier_words import INTERNAL, LIMITS, groups_says, prior_says
    from screener.audit.suppliers import MEASURES

    if not suppliers.histories:
        print_plain("Nothing was received from a supplier with a name yet.")
        return
    print_plain(INTERNAL)
    for each in suppliers.histories:
        _print_history(each, suppliers)
    print_plain("\nBeside each other", style="bold")
    for measure in MEASURES:
        for line in groups_says(measure, suppliers):
            print_plain(f"  {line}")
        if told := prior_says(measure, suppliers):
            print_plain(f"  {told}")
    print_plain("\nHow to read it", style="bold")
    for line in LIMITS:
        print_plain(f"  {line}")
    if suppliers.unnamed_items:
        print_plain(f"  {suppliers.unnamed_items} parts whose order names no supplier are left out.")


def _print_history(history: SupplierHistory, suppliers: Suppliers) -> None:
    from screener.audit.supplier_words import (
        alike_known,
        came_says,
        outcomes_says,
        rate_says,
        shared_says,
        trend_says,
    )

    print_plain(f"\n{history.name}: {came_says(history)}", style="bold")
    for measure, rate in history.rates.items():
        print_plain(f"  {rate_says(measure, rate)}")
        if alike_known(suppliers):
            print_plain(f"    {shared_says(rate, suppliers)}")
    for measure, trend in history.trends.items():
        if trend.p is not None:
            print_plain(f"  {trend_says(measure, trend)}")
    print_plain(f"  {outcomes_says(history.outcomes)}")
    for title, parts in (("families", history.families), ("makers", history.makers)):
        told = ", ".join(f"{each.name} {each.counts['held']} of {each.items} held" for each in parts)
        if told:
            print_plain(f"  {title}: {told}")


def _write_page(path: Path, suppliers: Suppliers, only: SupplierHistory | None) -> None:
    from screener import __version__
    from screener.reports.plan_report import PageFacts
    from screener.reports.supplier_report import suppliers_html

    title = "Suppliers over time" if only is None else f"{only.name} over time"
    write_page(path, suppliers_html(suppliers, PageFacts(title, today_says(), __version__), only=only))
