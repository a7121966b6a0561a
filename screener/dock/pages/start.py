"""The first page: what is to be done? And the page for addresses that lead nowhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.convertors import Convertor, register_url_convertor

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


class _PagePath(Convertor[str]):
    """Any address that could be a page; programs get their own answer where there is nothing."""

    regex = "(?!api/|live|static/|photos/).*"

    def convert(self, value: str) -> str:
        return value

    def to_string(self, value: str) -> str:
        return value


register_url_convertor("page", _PagePath())
ROUTES = routes(("GET", "/", start))
LAST = routes(("GET", "/{rest:page}", nowhere))
"""Behind all other routes."""
