"""``screener receive``: a delivery against its order."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import of_dispositions
from screener.cli.output import messages, print_json, print_plain, results

if TYPE_CHECKING:
    from screener.receiving.delivery import Delivery

RecordOption = Annotated[
    str | None,
    typer.Option(
        "--record",
        metavar="PATH|URL",
        help="The record: a file or an SQLAlchemy URL. By default SCREENER_RECORD, else a file in your data folder.",
    ),
]


def receive_command(
    *,
    order: Annotated[
        Path, typer.Option("--order", metavar="FILE", help="The order: CSV or spreadsheet, a line for each part.")
    ],
    photos: Annotated[
        Path, typer.Option("--photos", metavar="FOLDER", help="Folder of photos, in folders or files named by line.")
    ],
    report: Annotated[
        Path | None,
        typer.Option("--report", metavar="FILE", help="Where to write the HTML report.", show_default=False),
    ] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.result/1.")] = False,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="Processes; by default one a core.", min=1)
    ] = None,
) -> None:
    """Screen a delivery: read all photos, judge each order line, record it, write a report.

    Started again after an interruption with the same order and photos, it goes on where it stopped.
    """
    from screener.cli.progress_bar import ProgressBar
    from screener.receiving.delivery import receive
    from screener.records.record import Record
    from screener.reports.whole_file import need_folder

    if report is not None:
        need_folder(report)  # before minutes of reading, not after
    with Record.open(record) as opened, ProgressBar(messages) as bar:
        delivery = receive(order, photos, opened, progress=bar, workers=workers)
        written = _write_report(delivery, order, report)
    if as_json:
        from screener.records.result_json import result_as_json

        print_json(result_as_json(delivery.items))
    else:
        _print_delivery(delivery, record)
    where = results if not as_json else messages
    where.print(f"Report: {written}", markup=False, soft_wrap=True)
    where.print(f"Recorded as run {delivery.run_id} in {opened.place.says}", markup=False, soft_wrap=True)
    raise typer.Exit(of_dispositions(s.disposition.word for s in delivery.items))


def _write_report(delivery: Delivery, order: Path, report: Path | None) -> Path:
    from screener.records.place import make_folder
    from screener.reports.delivery_report import write_delivery_report

    target = report
    if target is None:
        target = Path("screener-output") / f"{order.stem}-run{delivery.run_id}.html"
        make_folder(target.parent)
    write_delivery_report(delivery, order, target)
    return target.resolve()


def _print_delivery(delivery: Delivery, record: str | None) -> None:
    from screener.cli.what_now import after_delivery
    from screener.reports.table import print_items

    if delivery.resumed:
        messages.print(f"Went on with an interrupted run: {delivery.resumed} items were already finished.")
    for problem in delivery.order_problems:
        print_plain(f"Order: {problem}")
    print_items(results, delivery.items)
    for title, entries in (("Could not be read", delivery.unreadable), ("Belongs to no line", delivery.unassigned)):
        for entry in entries:
            print_plain(f"{title}: {entry.photo} – {entry.says}")
    for line in after_delivery(delivery, record):
        print_plain(line)
