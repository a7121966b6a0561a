"""A job card at the bench: open it, work its parts one by one with readings and photos, print the sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import Response

from screener import __version__
from screener.dock.asked import number_of
from screener.dock.jobs import LARGEST_CARD_BYTES, JobShelf, KeptJob
from screener.dock.pages import fit_form, job_form, words
from screener.dock.pages.desk import bench_of, go, routes, show, text_of
from screener.dock.pages.fit_answer import shown_fit, stamp_of, stamp_of_fit
from screener.dock.pages.sheets import paper, print_page
from screener.errors import ScreenerError, WrongUsage
from screener.metrology.fits.example_card import EXAMPLE
from screener.metrology.fits.job import JobWalked, PartWalked, walk
from screener.metrology.fits.job_card import JobCard, card_of_text, with_part
from screener.reports.job_sheet import JobSheet, PhotoVerdict, whole_outcome, whole_says
from screener.reports.job_sheet_drawing import scale_for, scale_words, svg
from screener.reports.job_sheet_shapes import draw_stack
from screener.reports.page_date import today_says
from screener.specs.instruments import instrument_names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from screener.metrology.fits.seat_fit import Outcome
    from screener.receiving.bench import Bench

_OUTCOMES: Mapping[str, Outcome] = {"use": "fits", "hold": "review", "send back": "do_not"}


def _shelf(request: Request) -> JobShelf:
    shelf: JobShelf = request.app.state.jobs
    return shelf


async def jobs(request: Request, problem: ScreenerError | None = None, text: str = "") -> Response:
    """Show the jobs at hand, and a form to open a card."""
    kept = await run_in_threadpool(_shelf(request).all)
    wants_example = "example" in request.query_params
    return await show(
        request,
        "jobs.html.j2",
        status=422 if problem else 200,
        here="fit",
        problem=problem,
        jobs=kept,
        text=text or (EXAMPLE if wants_example else ""),
    )


async def begin(request: Request) -> Response:
    """Open the card that was brought or written."""
    async with request.form(max_files=1, max_fields=4) as form:
        text, name = await _card_text(form)
    try:
        card = await run_in_threadpool(_good_card, text, name)
    except ScreenerError as error:
        return await jobs(request, error, text)
    job = await run_in_threadpool(_shelf(request).add, card)
    return go(f"/job/{job.number}")


async def _card_text(form: FormData) -> tuple[str, str]:
    given = form.get("card")
    if isinstance(given, UploadFile) and given.filename:
        content = await given.read(LARGEST_CARD_BYTES + 1)
        return content.decode("utf-8-sig", "replace"), given.filename[:100]
    return text_of(form, "text"), "card"


def _good_card(text: str, name: str) -> JobCard:
    if not text.strip():
        raise WrongUsage("No card was chosen.", next_step="Choose the card's file, or write the card into the field.")
    if len(text) > LARGEST_CARD_BYTES:
        raise WrongUsage("This file is too large for a job card.", where=name)
    card = card_of_text(text, name)
    walk(card)
    return card


async def job(request: Request) -> Response:
    """Show a job whole: the answer, the drawing to scale, its parts, the check list."""
    kept = await _kept(request)
    walked, verdicts = await run_in_threadpool(_judged, kept, bench_of(request))
    drawing = draw_stack(tuple(each.piece for each in walked.parts))
    return await show(
        request,
        "job.html.j2",
        here="fit",
        job=kept,
        walked=walked,
        stamp=stamp_of(whole_outcome(walked, verdicts), ruled_out=walked.ruled_out),
        says=whole_says(walked, verdicts),
        verdicts=verdicts,
        stamps={each.card.name: stamp_of_fit(each.fit) for each in walked.parts if each.fit is not None},
        numbers={each.name: n for n, each in enumerate(kept.card.part, start=1)},
        missing={each.name: job_form.missing(each) for each in kept.card.part},
        first=_first_open(kept),
        # Made of numbers and escaped text.
        drawing=Markup(svg(drawing, f"Section of {kept.card.title}")),  # noqa: S704
        scale=scale_words(scale_for(drawing)),
    )


async def _kept(request: Request) -> KeptJob:
    return await run_in_threadpool(_shelf(request).get, number_of(request, "job"))


def _first_open(kept: KeptJob) -> int | None:
    """The first part that lacks a reading, counted from one."""
    return next((n for n, each in enumerate(kept.card.part, start=1) if job_form.missing(each)), None)


def _judged(kept: KeptJob, bench: Bench) -> tuple[JobWalked, dict[str, PhotoVerdict]]:
    return walk(kept.card), {name: found for name, run in kept.runs.items() if (found := _by_photo(bench, run))}


def _by_photo(bench: Bench, run_id: int) -> PhotoVerdict | None:
    """What the photos of a part said; None while there is no answer."""
    line = bench.delivery(run_id).lines[0]
    if line.answer is None or line.state != "answered":
        return None
    answer, shown = line.answer, words.verdict_of_answer(line.answer)
    word = f"{shown.word}, {shown.detail}" if shown.detail else shown.word
    said = answer.standing.why if answer.standing is not None else answer.reason
    return PhotoVerdict(word, said, words.next_words(answer), _OUTCOMES[answer.effective])


async def part(
    request: Request, problem: ScreenerError | None = None, told: Mapping[str, str] | None = None
) -> Response:
    """Show one part: what it is, its readings, how it fits, what the photos say."""
    kept = await _kept(request)
    number = _number(request, kept)
    walked, verdicts = await run_in_threadpool(_judged, kept, bench_of(request))
    shown: PartWalked = walked.parts[number - 1]
    return await show(
        request,
        "job_part.html.j2",
        status=422 if problem else 200,
        here="fit",
        problem=problem,
        job=kept,
        part=shown,
        number=number,
        count=len(walked.parts),
        answer=None if job_form.missing(shown.card) else shown_fit(shown),
        missing=job_form.missing(shown.card),
        told=told or job_form.typed(shown.card),
        asks=job_form.OF_KIND.get(shown.card.kind, ()),
        numbers=job_form.NUMBERS,
        samples=fit_form.samples(shown.card.designation),
        turning=fit_form.TURNING,
        loads=fit_form.LOADS,
        keeps=fit_form.KEEP,
        outside=instrument_names("outside"),
        inside=instrument_names("inside"),
        verdict=verdicts.get(shown.card.name),
        run=kept.runs.get(shown.card.name),
    )


def _number(request: Request, kept: KeptJob) -> int:
    number = number_of(request, "part")
    if not 1 <= number <= len(kept.card.part):
        raise WrongUsage("This job has no such part.", where=f"part {number}", code="no_such_run")
    return number


async def measured(request: Request) -> Response:
    """Keep the readings of a part, if they can be; then show what they mean."""
    kept = await _kept(request)
    number = _number(request, kept)
    form = await request.form(max_files=0, max_fields=60)
    told = {name: value for name, value in form.items() if isinstance(value, str)}

    def changed(now: KeptJob) -> KeptJob:
        card = job_form.changed(now.card, now.card.part[number - 1], told)
        walk(card)
        return replace(now, card=card)

    try:
        await run_in_threadpool(_shelf(request).change, kept.number, changed)
    except ScreenerError as error:
        return await part(request, error, told)
    return go(f"/job/{kept.number}/part/{number}")


async def photograph(request: Request) -> Response:
    """Begin to verify a part by photo, as any single part is; go on where it was begun already."""
    kept = await _kept(request)
    wanted = kept.card.part[_number(request, kept) - 1]
    run = kept.runs.get(wanted.name)
    if run is None:
        run = await run_in_threadpool(bench_of(request).open_part, wanted.designation)
        runs = {wanted.name: run}
        await run_in_threadpool(
            _shelf(request).change, kept.number, lambda now: replace(now, runs={**now.runs, **runs})
        )
    return go(f"{words.line_url(run, '1')}?job={kept.number}")


async def tick(request: Request) -> Response:
    """Keep what was ticked on the check list."""
    kept = await _kept(request)
    form = await request.form(max_files=0, max_fields=500)
    ticked = {str(each) for each in form.getlist("done")}
    await run_in_threadpool(_shelf(request).change, kept.number, lambda now: _ticked(now, ticked))
    return go(f"/job/{kept.number}#list")


def _ticked(now: KeptJob, ticked: set[str]) -> KeptJob:
    card = now.card
    own = tuple(replace(each, done=f"card-{n}" in ticked) for n, each in enumerate(card.companion, start=1))
    card = replace(card, companion=own)
    for n, each in enumerate(card.part, start=1):
        ids = tuple(sorted(word.partition("/")[2] for word in ticked if word.startswith(f"{n}/")))
        card = with_part(card, replace(each, done=ids))
    return replace(now, card=card)


async def sheet(request: Request) -> Response:
    """Print the sheet of the whole job."""
    return await run_in_threadpool(print_page, await _sheet(request))


async def sheet_pdf(request: Request) -> Response:
    """Return the sheet as PDF."""
    return await run_in_threadpool(paper, await _sheet(request))


async def _sheet(request: Request) -> JobSheet:
    walked, verdicts = await run_in_threadpool(_judged, await _kept(request), bench_of(request))
    return JobSheet(walked, today_says(), __version__, verdicts)


ROUTES = routes(
    ("GET", "/job", jobs),
    ("POST", "/job", begin),
    ("GET", "/job/{job}", job),
    ("GET", "/job/{job}/sheet", sheet),
    ("GET", "/job/{job}/sheet.pdf", sheet_pdf),
    ("POST", "/job/{job}/list", tick),
    ("GET", "/job/{job}/part/{part}", part),
    ("POST", "/job/{job}/part/{part}", measured),
    ("POST", "/job/{job}/part/{part}/photos", photograph),
)
