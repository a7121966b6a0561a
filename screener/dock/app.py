"""The dock server: one process, one record, no state but what the record holds and the queue of photos being read.

Pages live in `screener.dock.pages`; a page is a Starlette handler, reads ``request.app.state.bench`` (a
`screener.receiving.bench.Bench`; plain calls, so write handlers as plain ``def``) and renders with
``request.app.state.templates``; ``request.state.session`` says who asks, templates have ``csrf_token``.

Changes go to the interface below, from pages by ``fetch`` with the header ``X-CSRF-Token`` (or, from a form without
script, ``csrf_token`` as a field; a multipart form has to put it into the query). Other programs send
``Authorization: Bearer TOKEN`` instead. All bodies and answers are JSON unless said otherwise; the whole contract is
``GET /api/v1/openapi.json``. Errors: ``{"code", "says", "next_step"}``; ``says`` is a sentence for people. 503 with
``Retry-After`` means busy: send the same again after so many seconds, nothing is lost or doubled by that.

====================================================  ================================================================
``GET  /api/v1/deliveries``                           all deliveries and parts, newest first
``POST /api/v1/deliveries?name=order.csv``            body: the order file → ``{"run_id"}``
``GET  /api/v1/deliveries/{run}``                     a delivery with its lines (`BenchDelivery`)
``GET  /api/v1/deliveries/{run}/line?line=3``         one line (`BenchLine`)
``POST /api/v1/deliveries/{run}/finish``              ``{"who"}``
``PUT  /api/v1/deliveries/{run}/photos/{sha256}``     ``?line=3&shows=face1&name=IMG_1.jpg``, body: the photo's bytes;
                                                      ``box``, ``face1``, ``face2``, ``other``; 202 "got it"; the hash
                                                      says whether all arrived; sending again is always right
``POST /api/v1/deliveries/{run}/photos``              the same as a multipart form (fields ``line``, ``shows``,
                                                      ``photo``), for pages without script
``POST /api/v1/deliveries/{run}/photos/withdraw``     ``{"line", "sha256", "who", "why"}``
``POST /api/v1/deliveries/{run}/scans``               ``{"line", "text"}``
``POST /api/v1/deliveries/{run}/readings``            ``{"line", "what", "value", "instrument", "who",
                                                      "temperature_c", "face"}``; instrument ``eye`` for what is seen
``POST /api/v1/deliveries/{run}/corrections``         ``{"line", "key", "value", "who", "why"}``; value null: not there
``POST /api/v1/parts``                                ``{"need", "duty": [], "maker"}`` → ``{"run_id"}``; its line is 1
``GET  /api/v1/items/{item}``                         one recorded answer with its history
``POST /api/v1/items/{item}/hold``                    ``{"who", "why"}``
``POST /api/v1/items/{item}/release``                 ``{"who", "why"}``
``GET  /api/v1/held``                                 items kept back
``GET  /api/v1/suppliers``                            what came from whom
``POST /api/v1/find``                                 ``{"text"}`` of a scan → the lines it may belong to
``POST /api/v1/decode``                               body: a picture → the codes in it, each with its lines
``GET  /api/v1/changes?after=12&wait=20``             what changed since event 12; waits for the next (polling)
``GET  /live?after=12``                               the same as server-sent events; event ids allow to go on
``GET  /photos/{sha256}/small.jpg?side=800``          a kept photo, upright and reduced, as JPEG
``GET  /pair``, ``POST /pair``                        the pairing page (`screener.dock.pairing`)
====================================================  ================================================================

A change is ``{"id", "kind", "run_id", "line", "item_id", "at"}``; ``kind`` is that of the event in the record
(`screener.records.model.EventKind`). A page that gets one for what it shows asks for it anew.
"""

from __future__ import annotations

import asyncio
import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.templating import Jinja2Templates

from screener.dock import api, live, pages, pairing, photos
from screener.dock.faults import fault_handlers
from screener.dock.jobs import JobShelf
from screener.dock.security import Door
from screener.dock.sessions import Pairing, Sessions
from screener.dock.work import Beside, Work
from screener.receiving.bench import Bench

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from starlette.requests import Request

    from screener.dock.settings import DockSettings
    from screener.records.record import Record

STATIC = Path(__file__).parent / "static"


def build_app(settings: DockSettings, record: Record, tell_code: Callable[[str], None] = lambda _: None) -> Starlette:
    """Put the server together.

    Parameters
    ----------
    settings
        What the person who starts it decided.
    record
        Open; closed by whoever opened it.
    tell_code
        Shows a pairing code to the person at the server.
    """
    sessions = Sessions.kept_in(settings.state_folder)
    app = Starlette(
        routes=[
            *api.routes(),
            *live.routes(),
            *photos.routes(),
            *pairing.routes(),
            Mount("/static", StaticFiles(directory=STATIC, check_dir=False), name="static"),
            *pages.page_routes(),
        ],
        middleware=[Middleware(Door, settings=settings, sessions=sessions)],
        exception_handlers=fault_handlers(),
        lifespan=_working,
    )
    beside = Beside(settings.reader_memory_bytes, settings.read_seconds)
    bench = Bench(record, beside)
    app.state.settings = settings
    app.state.sessions = sessions
    app.state.pairing = Pairing(tell_code)
    app.state.bench = bench
    app.state.jobs = JobShelf(settings.state_folder)
    app.state.changes = live.Changes(bench)
    app.state.work = Work(bench, settings, beside)
    app.state.upload_places = asyncio.Semaphore(settings.max_uploads_at_once)
    app.state.templates = _templates()
    return app


@contextlib.asynccontextmanager
async def _working(app: Starlette) -> AsyncIterator[None]:
    """Read photos and watch the record while the server runs."""
    async with app.state.changes, app.state.work:
        yield


def _templates() -> Jinja2Templates:
    env = Environment(
        loader=PackageLoader("screener.dock"),
        # Labels, codes, file names and what people type are written by strangers.
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return Jinja2Templates(env=env, context_processors=[_csrf_token])


def _csrf_token(request: Request) -> dict[str, Any]:
    session = getattr(request.state, "session", None)
    return {"csrf_token": session.csrf_token if session is not None else ""}
