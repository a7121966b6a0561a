"""Papers to take away: the report of a delivery or an item, and the records for spreadsheets and programs."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any, Literal

from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, Response, StreamingResponse

from screener import __version__
from screener.dock.asked import number_of
from screener.dock.pages.desk import bench_of, routes
from screener.errors import WrongUsage
from screener.records.result_json import item_from_json
from screener.records.standing import line_of, standings
from screener.reports.html_report import html_report
from screener.reports.nonconformance_papers import nonconformance_html, nonconformance_pdf
from screener.reports.record_photos import photos_in
from screener.reports.recorded_nonconformance import recorded_nonconformance
from screener.reports.report_data import ReportData

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.requests import Request

    from screener.records.model import StoredItem
    from screener.records.record import Record

REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; frame-ancestors 'none'"
"""A report or a sheet is one file that works without this server; it has no script and asks for nothing."""
_TYPES = {"csv": "text/csv; charset=utf-8", "json": "application/json"}


async def delivery_report(request: Request) -> Response:
    """Return the report of a delivery, from the newest answer of each line."""
    run_id = number_of(request, "run")
    return await run_in_threadpool(_delivery_report, bench_of(request).record, run_id)


def _delivery_report(record: Record, run_id: int) -> Response:
    run = next((each for each in record.runs() if each.id == run_id), None)
    items = list(record.items(run=run_id))
    if run is None or not items:
        raise WrongUsage(
            "there is no answer to report on yet.", where=f"delivery {run_id}", next_step="Take photos of a line first."
        )
    title = "Delivery screened" if run.kind == "receive" else "Part verified"
    return _report(record, title, run.order_name, items, f"report-{run_id}.html")


async def item_report(request: Request) -> Response:
    """Return the report of one item with its photos and what was seen in them."""
    record, item_id = bench_of(request).record, number_of(request, "item")
    return await run_in_threadpool(_item_report, record, item_id)


def _item_report(record: Record, item_id: int) -> Response:
    stored = record.item(item_id)
    return _report(record, "One item", stored.requirement, [stored], f"item-{item_id}.html")


def _report(record: Record, title: str, order: str, items: Sequence[StoredItem], name: str) -> Response:
    decided = standings(record)
    data = ReportData(
        title=title,
        created_at=dt.datetime.now(dt.UTC).astimezone().strftime("%Y-%m-%d %H:%M %Z"),
        order_name=order,
        items=[item_from_json(each.result) for each in items],
        version=__version__,
        photo=photos_in(record),
        decided={line_of(each): said for each in items if (said := decided(each)) is not None},
        settings={"items in the record": ", ".join(str(each.id) for each in items)},
    )
    headers = {"Content-Security-Policy": REPORT_POLICY, "Content-Disposition": f'inline; filename="{name}"'}
    return HTMLResponse(html_report(data), headers=headers)


async def nonconformance_report(request: Request) -> Response:
    """Return the report of one item for its supplier, as a file to keep and send."""
    form = request.url.path.rsplit(".", 1)[-1]
    return await run_in_threadpool(_nonconformance, bench_of(request).record, number_of(request, "item"), form)


def _nonconformance(record: Record, item_id: int, form: str) -> Response:
    report = recorded_nonconformance(record, record.item(item_id))
    name = f"{report.number}.{form}"
    headers = {"Content-Security-Policy": REPORT_POLICY, "Content-Disposition": f'attachment; filename="{name}"'}
    if form == "pdf":
        return Response(nonconformance_pdf(report), media_type="application/pdf", headers=headers)
    return HTMLResponse(nonconformance_html(report), headers=headers)


async def delivery_records(request: Request) -> Response:
    """Return the records of one delivery."""
    return _records(request, run=number_of(request, "run"))


async def all_records(request: Request) -> Response:
    """Return the records of everything received."""
    return _records(request)


def _records(request: Request, **filters: Any) -> Response:
    form: Literal["csv", "json"] = "csv" if request.url.path.endswith(".csv") else "json"
    pieces = bench_of(request).record.export(form, **filters)
    headers = {"Content-Disposition": f'attachment; filename="records.{form}"'}
    return StreamingResponse((piece.encode() for piece in pieces), media_type=_TYPES[form], headers=headers)


ROUTES = routes(
    ("GET", "/deliveries/{run}/report", delivery_report),
    ("GET", "/items/{item}/report", item_report),
    ("GET", "/items/{item}/nonconformance.html", nonconformance_report),
    ("GET", "/items/{item}/nonconformance.pdf", nonconformance_report),
    ("GET", "/deliveries/{run}/records.csv", delivery_records),
    ("GET", "/deliveries/{run}/records.json", delivery_records),
    ("GET", "/records.csv", all_records),
    ("GET", "/records.json", all_records),
)
