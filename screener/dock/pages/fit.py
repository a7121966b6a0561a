"""The mechanic's last stop: will it fit, what force or heat, in which order; and the sheet to take to the press."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from screener import __version__
from screener.dock.pages import fit_form
from screener.dock.pages.desk import routes, show
from screener.dock.pages.fit_answer import shown_fit
from screener.dock.pages.sheets import paper, print_page
from screener.errors import ScreenerError
from screener.reports.job_sheet import JobSheet
from screener.reports.page_date import today_says
from screener.specs.fit_materials import friction_rows, materials, smoothing_rows
from screener.specs.instruments import instrument_names

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response


async def fit(request: Request) -> Response:
    """Ask for seats and load, and answer; all of it stands in the address, so a reload loses nothing."""
    told = {name: value for name, value in request.query_params.items() if value.strip()}
    job, problem = None, None
    if told.get("designation") and len(told) > 1:
        try:
            job = await run_in_threadpool(fit_form.job_of, told)
        except ScreenerError as error:
            problem = error
    return await show(
        request,
        "fit.html.j2",
        status=422 if problem else 200,
        here="fit",
        problem=problem,
        told=told,
        query=request.url.query,
        answer=job and shown_fit(job.parts[0]),
        samples=fit_form.samples(told.get("designation", "")),
        turning=fit_form.TURNING,
        loads=fit_form.LOADS,
        keeps=fit_form.KEEP,
        materials=[row.material for row in materials() if row.material != "bearing steel"],
        surfaces=[row.name for row in smoothing_rows()],
        frictions=[row.name for row in friction_rows() if row.name != "pulling off"],
        outside=instrument_names("outside"),
        inside=instrument_names("inside"),
    )


async def sheet(request: Request) -> Response:
    """Print what the form tells as a job sheet with the drawing to scale."""
    return await run_in_threadpool(print_page, await run_in_threadpool(_sheet, request))


async def sheet_pdf(request: Request) -> Response:
    """Return the job sheet as PDF."""
    return await run_in_threadpool(paper, await run_in_threadpool(_sheet, request))


def _sheet(request: Request) -> JobSheet:
    told = dict(request.query_params.items())
    job = fit_form.job_of(told, tuple(request.query_params.getlist("done")))
    return JobSheet(job, today_says(), __version__)


ROUTES = routes(("GET", "/fit", fit), ("GET", "/fit/sheet", sheet), ("GET", "/fit/sheet.pdf", sheet_pdf))
