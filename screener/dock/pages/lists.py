"""The buyer's pages: what is on hold, who sent what and how it fared, everything known about one item."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.audit import supplier_words
from screener.audit.suppliers import history_of, supplier_history
from screener.dock.asked import number_of, text_of
from screener.dock.pages import words
from screener.dock.pages.desk import bench_of, routes, show
from screener.receiving.bench_lists import NOT_TOLD
from screener.records.begun import is_begun
from screener.records.result_json import item_from_json
from screener.records.standing import standings
from screener.records.supplier_items import supplier_items
from screener.reports.figures import figures_at
from screener.reports.nonconformance import is_reportable
from screener.reports.observed_rows import observed_rows
from screener.reports.supplier_report import HEADS
from screener.reports.wording import suspicion_says, verdict_now
from screener.screening.model import EARLIER
from screener.specs.screening_rules import suspicion_settings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request
    from starlette.responses import Response

    from screener.audit.suppliers import SupplierHistory, Suppliers
    from screener.receiving.bench import Bench
    from screener.records.model import StoredItem
    from screener.records.record import Record
    from screener.reports.figures import Figure
    from screener.screening.model import ScreenedItem

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
    items = await run_in_threadpool(
        lambda: list(islice(record.items(supplier="" if name == NOT_TOLD else name), 100_000))
    )
    decided = await run_in_threadpool(standings, record)
    judged = [each for each in items[::-1] if decided(each) or not is_begun(each)]
    shown = judged[:MOST_SHOWN]
    history, overall = await run_in_threadpool(_history_of, record, name)
    return await show(
        request,
        "supplier.html.j2",
        here="suppliers",
        name=name,
        items=shown,
        decided={each.id: said for each in shown if (said := decided(each)) is not None},
        more=len(items) - len(shown),
        history=history,
        overall=overall,
        over_time=supplier_words,
        heads=HEADS,
    )


def _history_of(record: Record, name: str) -> tuple[SupplierHistory | None, Suppliers]:
    """What is known of one supplier over time; None where nothing of it was looked at."""
    overall = supplier_history(supplier_items(record))
    return history_of(overall, name), overall


async def item(request: Request) -> Response:
    """Show everything known about an item."""
    record = bench_of(request).record
    stored = await run_in_threadpool(record.item, number_of(request, "item"))
    screened = item_from_json(stored.result)
    versions = await run_in_threadpool(_versions, record, stored)
    standing = await run_in_threadpool(lambda: standings(record)(stored))
    return await show(
        request,
        "item.html.j2",
        here="suppliers",
        run_id=stored.run_id,
        stored=stored,
        screened=screened,
        verdict=verdict_now(screened, standing),
        own=verdict_now(screened, None),
        standing=standing,
        observed=(observed := observed_rows(screened)),
        figures=await run_in_threadpool(_figures, bench_of(request), stored, screened, observed.numbers),
        reportable=await run_in_threadpool(is_reportable, stored, standing),
        suspicion=suspicion_says(screened.suspicion),
        settings=suspicion_settings(),
        versions=versions,
        events=[(_EVENT_WORDS[each.kind], each) for each in stored.events if each.kind in _EVENT_WORDS],
    )


def _figures(bench: Bench, stored: StoredItem, screened: ScreenedItem, numbers: Mapping[str, int]) -> list[Figure]:
    """The photos with what was seen in each drawn over it."""
    places = {}
    for photo in stored.photos:
        reading = bench.remembered(photo.sha256)
        if reading is not None and reading.width_px and reading.height_px:
            places[photo.name] = (words.photo_url(photo.sha256), reading.width_px, reading.height_px)
    for seen in screened.item.observations:
        if seen.source.reader == EARLIER:
            size = bench.photos_before.size_px(seen.source.photo_sha256)
            places[seen.source.where] = (words.photo_url(seen.source.photo_sha256), *size)
    return figures_at(screened, numbers, places)


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
