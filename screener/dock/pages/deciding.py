"""What a person decides: hold, release, finish a delivery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.dock.asked import number_of
from screener.dock.pages import words
from screener.dock.pages.desk import bench_of, go, number_in, routes, text_of, why_of
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response


async def hold(request: Request) -> Response:
    """Keep the item back."""
    return await _decide(request, "hold")


async def release(request: Request) -> Response:
    """Let the item go, on a person's word."""
    return await _decide(request, "release")


async def _decide(request: Request, kind: str) -> Response:
    run_id, line = number_of(request, "run"), request.path_params["line"]
    form = await request.form(max_files=0)
    who, why = text_of(form, "who"), why_of(form)
    if not why:
        raise WrongUsage("a reason is missing.", where=f"line {line}", next_step="Tick one, or write it.")
    bench = bench_of(request)
    item_id = int(number_in(text_of(form, "item_id"), "item") or 0)
    await run_in_threadpool(bench.hold if kind == "hold" else bench.release, item_id, who, why)
    return go(words.line_url(run_id, line))


async def finish(request: Request) -> Response:
    """Say that the delivery is worked through."""
    run_id = number_of(request, "run")
    form = await request.form(max_files=0)
    await run_in_threadpool(bench_of(request).finish, run_id, text_of(form, "who"))
    return go(f"/deliveries/{run_id}")


ROUTES = routes(
    ("POST", "/deliveries/{run}/hold/{line:path}", hold),
    ("POST", "/deliveries/{run}/release/{line:path}", release),
    ("POST", "/deliveries/{run}/finish", finish),
)
