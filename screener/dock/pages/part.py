"""The mechanic's page: one part, checked before it is pressed in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener.dock.pages import words
from screener.dock.pages.desk import bench_of, go, not_understood, routes, show, text_of
from screener.errors import ScreenerError
from screener.parts import explain

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

DUTIES = (
    ("dry", "dry and clean"),
    ("dirty", "dust, lint, dirt"),
    ("wet", "water or steam"),
    ("hot", "heat"),
    ("fast", "high speed"),
)


async def part(request: Request, form: FormData | None = None, problem: ScreenerError | None = None) -> Response:
    """Ask what is needed."""
    known = await run_in_threadpool(bench_of(request).deliveries)
    return await show(
        request,
        "part.html.j2",
        status=400 if problem else 200,
        here="part",
        problem=problem,
        duties=DUTIES,
        need=text_of(form, "need") if form else request.query_params.get("need", ""),
        maker=text_of(form, "maker") if form else "",
        ticked=set(form.getlist("duty")) if form else set(),
        parts=[each for each in known if each.kind == "verify"][:8],
    )


async def begin(request: Request) -> Response:
    """Begin with the part that is needed, unless its name says nothing."""
    form = await request.form(max_files=0)
    need = text_of(form, "need")
    told = explain(need)
    if need and not told.understood and not form.get("anyway"):
        return await part(request, form, not_understood(told))
    duty = frozenset(str(word) for word in form.getlist("duty")) & {word for word, _ in DUTIES}
    try:
        run_id = await run_in_threadpool(bench_of(request).open_part, need, duty, text_of(form, "maker") or None)
    except ScreenerError as error:
        return await part(request, form, error)
    return go(words.line_url(run_id, "1"))


ROUTES = routes(("GET", "/part", part), ("POST", "/part", begin))
