"""Files that stations send: orders, photos, pictures of codes."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException
from starlette.responses import JSONResponse, RedirectResponse, Response

from screener.dock.asked import number_of, text_of
from screener.dock.uploads import check_announced, check_is_photo, check_whole, received
from screener.errors import ScreenerError, WrongUsage
from screener.looking.look import look
from screener.receiving.bench import file_name, order_of_bytes
from screener.receiving.bench_model import PhotoJob, known_shows

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from starlette.requests import Request

    from screener.dock.uploads import Upload
    from screener.looking.reading import PhotoReading
    from screener.receiving.bench import Bench

GOT_IT = "Got it."


async def open_delivery(request: Request) -> Response:
    """Begin a delivery from an order file, or go on with the unfinished one of the same order."""
    state = request.app.state
    name = file_name(text_of(request, "name"))
    async with received(_body(request, state.settings.max_order_bytes), **_limits(request, "order")) as upload:
        order = await state.work.aside(order_of_bytes, name, upload.path.read_bytes())
    run_id = await run_in_threadpool(state.bench.open_order, name, order)
    return JSONResponse({"run_id": run_id}, status_code=201)


async def take_photo(request: Request) -> Response:
    """Take in one photo for a line and say "got it" once it is in the record; it is read afterwards."""
    run_id, line, shows = number_of(request, "run"), text_of(request, "line"), text_of(request, "shows", usual="other")
    await _check_wanted(request, run_id, line, shows)
    limit = request.app.state.settings.max_photo_bytes
    async with received(_body(request, limit), **_limits(request, "photo")) as upload:
        check_whole(upload, str(request.path_params["sha256"]))
        return await _keep(request, upload, run_id, line, text_of(request, "name", usual="photo"), shows)


async def photo_form(request: Request) -> Response:
    """Take in one photo from a page without script and go back to it; one that is refused is named there."""
    back = request.query_params.get("back", "")
    # Only a place of ours, never an address from outside.
    if not (back.startswith("/") and back[1:2] not in {"/", "\\"}):
        return await _photo_of_form(request)
    try:
        await _photo_of_form(request)
    except ScreenerError as error:
        return await _line_again(request, back, error)
    return RedirectResponse(back, 303)


async def _photo_of_form(request: Request) -> Response:
    run_id, limit = number_of(request, "run"), request.app.state.settings.max_photo_bytes
    check_announced(request.headers.get("content-length"), limit + 10_000)
    request.app.state.work.check_room()
    try:
        async with request.form(max_files=1, max_fields=8, max_part_size=10_000) as form:
            line, shows, photo = form.get("line", ""), form.get("shows", "other"), form.get("photo")
            if not (isinstance(line, str) and isinstance(shows, str) and isinstance(photo, UploadFile)):
                raise WrongUsage("name the line and choose a photo.", where="photo", code="missing")
            await _check_wanted(request, run_id, line, shows)
            async with received(_pieces(photo), **_limits(request, "photo")) as upload:
                return await _keep(request, upload, run_id, line, photo.filename or "photo", shows)
    except MultiPartException as error:
        raise WrongUsage("this form cannot be read.", where="body", code="form") from error


async def _line_again(request: Request, back: str, error: ScreenerError) -> Response:
    """Show the line's page with the reason; an address that is no line's page gets the reason alone."""
    from screener.dock.pages import clerk
    from screener.dock.pages.refused import Refused

    _, lines, line = back.partition("/lines/")
    if not lines:
        raise error
    request.path_params["line"] = unquote(line)
    return await clerk.line(request, Refused("photo", problem=error))


async def decode(request: Request) -> Response:
    """Read the codes in a picture, and say which lines each may belong to. The picture is not kept."""
    state = request.app.state
    async with received(_body(request, state.settings.max_photo_bytes), **_limits(request, "photo")) as upload:
        check_is_photo(upload)
        reading = await state.work.aside(codes_in, upload.path)
    return JSONResponse(await run_in_threadpool(_codes, state.bench, reading))


def codes_in(path: Path) -> PhotoReading:
    """Read the codes of a picture. Runs in a process of its own."""
    return look(path, frozenset({"codes"}))


async def _check_wanted(request: Request, run_id: int, line: str, shows: str) -> None:
    """Refuse before a long upload what would be refused after it."""
    known_shows(shows)
    request.app.state.work.check_room()
    await run_in_threadpool(request.app.state.bench.line_is_known, run_id, line)


async def _keep(request: Request, upload: Upload, run_id: int, line: str, name: str, shows: str) -> Response:
    state = request.app.state
    check_is_photo(upload, file_name(name))
    receipt = await run_in_threadpool(state.bench.add_photo, run_id, line, name, upload.path, shows)
    if not receipt.read:
        state.work.read_soon(PhotoJob(run_id, line, receipt.sha256))
    else:
        state.work.answer_soon(run_id, line)
    return JSONResponse({"says": GOT_IT, "waiting": state.work.waiting, **asdict(receipt)}, status_code=202)


async def _body(request: Request, limit_bytes: int) -> AsyncIterator[bytes]:
    check_announced(request.headers.get("content-length"), limit_bytes)
    async for piece in request.stream():
        yield piece


async def _pieces(file: UploadFile) -> AsyncIterator[bytes]:
    while piece := await file.read(1 << 16):
        yield piece


def _limits(request: Request, what: str) -> dict[str, Any]:
    settings = request.app.state.settings
    limit = settings.max_order_bytes if what == "order" else settings.max_photo_bytes
    return {"limit_bytes": limit, "places": request.app.state.upload_places, "seconds": settings.upload_seconds}


def _codes(bench: Bench, reading: PhotoReading) -> dict[str, Any]:
    return {
        "codes": [
            {
                "symbology": code.symbology,
                "text": code.text,
                "lines": [asdict(found) for found in bench.find_line(code.text)] if code.text.strip() else [],
            }
            for code in reading.codes
        ],
        "problems": [problem.says for problem in reading.problems],
    }
