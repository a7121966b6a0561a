"""What is given for a line from its page: photos without script, readings, what was seen, corrections."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from starlette.concurrency import run_in_threadpool

from screener.dock.asked import number_of
from screener.dock.pages import clerk
from screener.dock.pages.desk import answered_anew, bench_of, number_in, routes, text_of
from screener.dock.pages.refused import need_name, need_reason, refused_form
from screener.errors import ScreenerError, WrongUsage
from screener.metrology.length_text import lengths_mm
from screener.receiving.bench_model import HandReading

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from screener.receiving.bench import Bench

    Give = Callable[[Bench, int, str, FormData], None]

LENGTHS = ("bore_mm", "od_mm", "width_mm")


async def withdraw(request: Request) -> Response:
    """Take a photo away from the line."""
    form = await request.form(max_files=0)
    sha256 = text_of(form, "sha256")
    return await _give(request, form, f"away-{sha256[:12]}", _withdrawn, f"withdraw-{sha256}")


def _withdrawn(bench: Bench, run_id: int, line: str, form: FormData) -> None:
    who, why = need_name(text_of(form, "who")), need_reason(text_of(form, "why"))
    bench.withdraw_photo(run_id, line, text_of(form, "sha256"), who, why)


async def reading(request: Request) -> Response:
    """Add what was measured or seen by eye; a form that comes twice counts once."""
    form = await request.form(max_files=0)
    name = "eye" if text_of(form, "instrument") == "eye" else "measured"
    try:
        found = _readings(form)
    except ScreenerError as error:
        return await clerk.line(request, refused_form(name, form, error))

    def given(bench: Bench, run_id: int, line: str, _: FormData) -> None:
        bench.add_readings(run_id, line, found)

    return await _give(request, form, name, given, f"reading{len(found)}")


def _readings(form: FormData) -> list[HandReading]:
    need_name(text_of(form, "who"))
    found = list(_seen(form) if text_of(form, "instrument") == "eye" else _measured(form))
    if not found:
        raise WrongUsage("nothing was given.", next_step="Type at least one number, or tick what was seen.")
    once = text_of(form, "once")[:40]
    return [replace(each, once=f"{once}-{number}") if once else each for number, each in enumerate(found)]


def _measured(form: FormData) -> Iterator[HandReading]:
    who, warm = text_of(form, "who"), number_in(text_of(form, "temperature_c"), "temperature")
    for what in LENGTHS:
        for value in lengths_mm(text_of(form, what), what.removesuffix("_mm")):
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
    form = await request.form(max_files=0)
    return await _give(request, form, f"seen-{text_of(form, 'key')[:20]}", _corrected, "correct")


def _corrected(bench: Bench, run_id: int, line: str, form: FormData) -> None:
    answer = bench.line(run_id, line).answer
    if answer is None or text_of(form, "item_id") != str(answer.item_id):
        raise WrongUsage(
            "a newer answer has come since this page was shown.",
            where=f"line {line}",
            next_step="Look at what it read, then correct it there.",
            code="newer_answer",
        )
    value = None if form.get("nothing") else text_of(form, "value")
    if value == "":
        raise WrongUsage("nothing was chosen.", where="value", next_step="Say what it really is.")
    bench.correct(run_id, line, text_of(form, "key"), value, need_name(text_of(form, "who")))


async def _give(request: Request, form: FormData, name: str, give: Give, done: str) -> Response:
    """Do what a form asks and say so on the line's page; or show the form again with the reason why not."""
    run_id, line = number_of(request, "run"), request.path_params["line"]
    try:
        await run_in_threadpool(give, bench_of(request), run_id, line, form)
    except ScreenerError as error:
        return await clerk.line(request, refused_form(name, form, error))
    await answered_anew(request, run_id, line)
    return clerk.go_on(request, done)


ROUTES = routes(
    ("POST", "/deliveries/{run}/withdraw/{line:path}", withdraw),
    ("POST", "/deliveries/{run}/reading/{line:path}", reading),
    ("POST", "/deliveries/{run}/correct/{line:path}", correct),
)
