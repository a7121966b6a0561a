"""What every page needs: the bench behind it, the form in front of it, a template, and plain words when it fails."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from screener.dock.faults import status_of
from screener.dock.pages import words
from screener.errors import ScreenerError, WrongUsage
from screener.reports.wording import CAUTION

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.templating import Jinja2Templates

    from screener.parts.model import Explained
    from screener.receiving.bench import Bench

    Page = Callable[[Request], Awaitable[Response]]


def bench_of(request: Request) -> Bench:
    """Return the bench that the server works on."""
    bench: Bench = request.app.state.bench
    return bench


async def show(request: Request, template: str, *, status: int = 200, **shown: Any) -> Response:
    """Fill a template.

    ``scans`` puts the scan field on the page; ``run_id`` and ``line_key`` say where a code belongs.
    """
    filled = {
        "words": words,
        "caution": CAUTION,
        "here": "",
        "scans": False,
        "takes_cursor": False,
        "run_id": None,
        "line_key": None,
        "last_event": 0,
        "problem": None,
        **shown,
    }
    templates: Jinja2Templates = request.app.state.templates
    return await run_in_threadpool(templates.TemplateResponse, request, template, filled, status_code=status)


async def answered_anew(request: Request, run_id: int, line: str) -> None:
    """Make the line's answer from all that was given; while photos of it are being read, it follows by itself."""
    await request.app.state.work.changed(run_id, line)


def go(where: str) -> RedirectResponse:
    """Go on to another page after a change, so that a reload does not do it again."""
    return RedirectResponse(where, status_code=303)


def text_of(form: FormData, name: str, default: str = "") -> str:
    """Return what was typed into a field."""
    value = form.get(name, default)
    return value.strip() if isinstance(value, str) else default


def why_of(form: FormData) -> str:
    """Return the reason that was ticked, the words that were typed, or both."""
    return ". ".join(part for part in (text_of(form, "reason"), text_of(form, "why")) if part)


def number_in(text: str, what: str) -> float | None:
    """Return a number as people type it, with a point or a comma; None for an empty field.

    Raises
    ------
    WrongUsage
        It is no number.
    """
    if not text.strip():
        return None
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise WrongUsage(f"“{text}” is no number.", where=what, next_step="Write it like 51.98.") from None


def not_understood(told: Explained) -> WrongUsage:
    """Return what to say about a designation that is none, with what it may mean."""
    meant = f"Did you mean {' or '.join(told.suggestions)}? " if told.suggestions else ""
    return WrongUsage(
        f"“{told.input}” is not understood.",
        next_step=f"{meant}Write the whole number: 6205-2RS C3, or a seal's size: 35x52x7.",
        code="designation",
    )


def routes(*pages: tuple[str, str, Page]) -> Sequence[Route]:
    """Return routes from (method, path, page); what a page refuses is said in words."""
    return tuple(Route(path, _in_words(page), methods=[method]) for method, path, page in pages)


def _in_words(page: Page) -> Page:
    @functools.wraps(page)
    async def answered(request: Request) -> Response:
        try:
            return await page(request)
        except ScreenerError as error:
            return await refuse(request, error)

    return answered


async def refuse(request: Request, error: ScreenerError) -> Response:
    """Say why something was not done and what to do next."""
    status = status_of(error)
    head = "This is not there" if status == 404 else "That was not done"
    back = request.url.path.rsplit("/", 1)[0] if request.method == "POST" else "/"
    return await show(request, "message.html.j2", status=status, head=head, problem=error, back=back or "/")
