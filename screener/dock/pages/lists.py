"""The buyer's pages: what is on hold, who sent what, everything known about one item."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.dock.asked import number_of, text_of
from screener.dock.pages import words
from screener.dock.pages.desk import bench_of, routes, show
from screener.records.result_json import item_from_json
from screener.reports.observed_rows import observed_rows
from screener.reports.wording import suspicion_says
from screener.specs.screening_rules import suspicion_settings

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from screener.records.model import StoredItem
    from screener.records.record import Record

MOST_SHOWN = 500
_EVENT_WORDS = {
    # What a person did, and what followed from it; how the answer was made stands elsewhere.
    "hold": "held",
    "release": "released",
    "correction": "corrected",
    "note": "noted",
    "outcome": "turned out",
    "superseded": "answered anew",
}


async def held(request: Request) -> Response:
    """Show the items that are kept back."""
    kept = await run_in_threadpool(bench_of(request).held)
    return await show(request, "held.html.j2", here="held", held=kept)


async def suppliers(request: Request) -> Response:
    """Show what came from whom."""
    found = await run_in_threadpool(bench_of(request).suppliers)
    return await show(request, "suppliers.html.j2", here="suppliers", suppliers=found)


async def supplier(request: Request) -> Response:
    """Show the items of one supplier, newest first."""
    name = text_of(request, "name")
    record = bench_of(request).record
    items = await run_in_threadpool(lambda: list(islice(record.items(supplier=name), 100_000)))
    shown = items[::-1][:MOST_SHOWN]
    return await show(
        request, "supplier.html.j2", here="suppliers", name=name, items=shown, more=len(items) - len(shown)
    )


async def item(request: Request) -> Response:
    """Show everything known about an item."""
    record = bench_of(request).record
    stored = await run_in_threadpool(record.item, number_of(request, "item"))
    screened = item_from_json(stored.result)
    versions = await run_in_threadpool(_versions, record, stored)
    return await show(
        request,
        "item.html.j2",
        here="suppliers",
        run_id=stored.run_id,
        stored=stored,
        screened=screened,
        verdict=words.verdict_of_exit(screened.disposition.exit),
        observed=observed_rows(screened),
        suspicion=suspicion_says(screened.suspicion),
        settings=suspicion_settings(),
        versions=versions,
        events=[(_EVENT_WORDS[each.kind], each) for each in stored.events if each.kind in _EVENT_WORDS],
    )


def _versions(record: Record, stored: StoredItem) -> list[StoredItem]:
    """Every answer for the same line, oldest first."""
    line = stored.result.get("item", stored.item_key)
    return [each for each in record.items(run=stored.run_id, history=True) if each.result.get("item") == line]


ROUTES = routes(
    ("GET", "/held", held),
    ("GET", "/suppliers", suppliers),
    ("GET", "/suppliers/one", supplier),
    ("GET", "/items/{item}", item),
)
