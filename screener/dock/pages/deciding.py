"""What a person decides: hold, release, finish a delivery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.dock.asked import number_of
from screener.dock.pages import clerk
from screener.dock.pages.desk import bench_of, go, number_in, routes, text_of, why_of
from screener.dock.pages.refused import need_name, need_reason, refused_form
from screener.errors import ScreenerError

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from screener.receiving.bench import Bench


async def hold(request: Request) -> Response:
    """Keep the item back."""
    return await _decide(request, "hold")


async def release(request: Request) -> Response:
    """Let the item go, on a person's word."""
    return await _decide(request, "release")


async def _decide(request: Request, kind: str) -> Response:
    form = await request.form(max_files=0)
    try:
        await run_in_threadpool(_decided, bench_of(request), form, kind)
    except ScreenerError as error:
        return await clerk.line(request, refused_form(kind, form, error))
    return clerk.go_on(request, kind)


def _decided(bench: Bench, form: FormData, kind: str) -> None:
    who, why = need_name(text_of(form, "who")), need_reason(why_of(form))
    item_id = int(number_in(text_of(form, "item_id"), "item") or 0)
    decide = bench.hold if kind == "hold" else bench.release
    decide(item_id, who, why)


async def finish(request: Request) -> Response:
    """Say that the delivery is worked through."""
    run_id = number_of(request, "run")
    form = await request.form(max_files=0)
    try:
        await run_in_threadpool(bench_of(request).finish, run_id, need_name(text_of(form, "who")))
    except ScreenerError as error:
        return await clerk.delivery(request, refused_form("finish", form, error))
    return go(f"/deliveries/{run_id}")


ROUTES = routes(
    ("POST", "/deliveries/{run}/hold/{line:path}", hold),
    ("POST", "/deliveries/{run}/release/{line:path}", release),
    ("POST", "/deliveries/{run}/finish", finish),
)
