"""The first page: what is to be done? And the page for addresses that lead nowhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.dock.pages.desk import bench_of, routes, show
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response


async def start(request: Request) -> Response:
    """Show the three jobs, and the deliveries that are being worked on."""
    bench = bench_of(request)
    deliveries = await run_in_threadpool(bench.deliveries)
    held = await run_in_threadpool(bench.held)
    open_ones = [each for each in deliveries if each.kind == "receive" and each.finished_at is None]
    return await show(request, "start.html.j2", here="start", scans=True, open=open_ones, held=len(held))


async def nowhere(_: Request) -> Response:
    """Say that there is no such page."""
    raise WrongUsage("There is no such page.", next_step="Begin at the start page.", code="no_such_run")


ROUTES = routes(("GET", "/", start))
LAST = routes(("GET", "/{rest:path}", nowhere))
"""Behind all other routes."""
