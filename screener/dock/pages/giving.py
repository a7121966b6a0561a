"""What is given for a line from its page: photos without script, readings, what was seen, corrections."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from starlette.concurrency import run_in_threadpool

from screener.dock.asked import number_of
from screener.dock.pages import words
from screener.dock.pages.desk import answered_anew, bench_of, go, number_in, numbers_of, routes, text_of
from screener.errors import WrongUsage
from screener.receiving.bench_model import HandReading

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

LENGTHS = ("bore_mm", "od_mm", "width_mm")


async def withdraw(request: Request) -> Response:
    """Take a photo away from the line."""
    run_id, line = number_of(request, "run"), request.path_params["line"]
    form = await request.form(max_files=0)
    given = text_of(form, "sha256"), text_of(form, "who"), text_of(form, "why")
    await run_in_threadpool(bench_of(request).withdraw_photo, run_id, line, *given)
    await answered_anew(request, run_id, line)
    return go(words.line_url(run_id, line))


async def reading(request: Request) -> Response:
    """Add what was measured or seen by eye."""
    run_id, line = number_of(request, "run"), request.path_params["line"]
    form = await request.form(max_files=0)
    found = list(_seen(form) if text_of(form, "instrument") == "eye" else _measured(form))
    if not found:
        raise WrongUsage("nothing was given.", next_step="Type at least one number, or tick what was seen.")
    bench = bench_of(request)
    for each in found:
        await run_in_threadpool(bench.add_reading, run_id, line, each)
    await answered_anew(request, run_id, line)
    return go(words.line_url(run_id, line))


def _measured(form: FormData) -> Iterator[HandReading]:
    who, warm = text_of(form, "who"), number_in(text_of(form, "temperature_c"), "temperature")
    for what in LENGTHS:
        for value in numbers_of(text_of(form, what), what.removesuffix("_mm")):
            yield HandReading(what, value, text_of(form, "instrument", "caliper"), who, warm)
    mass_g = number_in(text_of(form, "mass_g"), "mass")
    if mass_g is not None:
        yield HandReading("mass_g", mass_g, text_of(form, "scale", "scale"), who)


def _seen(form: FormData) -> Iterator[HandReading]:
    who = text_of(form, "who")
    if closure := text_of(form, "closure"):
        face: Literal["first", "second"] = "second" if text_of(form, "face") == "second" else "first"
        yield HandReading("closure", closure, "eye", who, face=face)
    if marked := text_of(form, "designation"):
        yield HandReading("designation", marked, "eye", who)


async def correct(request: Request) -> Response:
    """Record that something was misread."""
    run_id, line = number_of(request, "run"), request.path_params["line"]
    form = await request.form(max_files=0)
    bench = bench_of(request)
    answer = (await run_in_threadpool(bench.line, run_id, line)).answer
    if answer is None or text_of(form, "item_id") != str(answer.item_id):
        raise WrongUsage(
            "a newer answer has come since this page was shown.",
            where=f"line {line}",
            next_step="Look at what it read, then correct it there.",
            code="newer_answer",
        )
    value = None if form.get("nothing") else text_of(form, "value")
    if value == "":
        raise WrongUsage("nothing was chosen.", next_step="Say what it really is.")
    await run_in_threadpool(bench.correct, run_id, line, text_of(form, "key"), value, text_of(form, "who"))
    await answered_anew(request, run_id, line)
    return go(words.line_url(run_id, line))


ROUTES = routes(
    ("POST", "/deliveries/{run}/withdraw/{line:path}", withdraw),
    ("POST", "/deliveries/{run}/reading/{line:path}", reading),
    ("POST", "/deliveries/{run}/correct/{line:path}", correct),
)
