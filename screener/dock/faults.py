"""What goes wrong, as an answer: a sentence and a next step, never a traceback."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from screener.errors import InputUnreadable, ScreenerError, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request

log = logging.getLogger("screener.dock")
RETRY_SECONDS = 3
_STATUS_OF_CODE: Mapping[str, int] = {
    "no_such_run": 404,
    "no_such_item": 404,
    "no_such_line": 404,
    "no_such_photo": 404,
    "no_such_observation": 404,
    "newer_answer": 409,
    "record_busy": 503,
    "queue_full": 503,
    "too_large": 413,
    "too_slow": 408,
    "too_many_photos": 409,
    "not_a_photo": 415,
}
_OF_HTTP = {
    400: ("bad_request", "This request cannot be understood."),
    404: ("not_found", "There is no such page."),
    405: ("method", "This cannot be done here."),
}


class Busy(ScreenerError):
    """Too much is waiting; the same request again a little later will do."""

    def __init__(self) -> None:
        super().__init__(
            "busy: many photos are waiting to be read.", next_step="It is sent again by itself.", code="queue_full"
        )


def status_of(error: ScreenerError) -> int:
    """Return the HTTP status of an error meant for people."""
    usual = 422 if isinstance(error, InputUnreadable) else 400 if isinstance(error, WrongUsage) else 500
    return _STATUS_OF_CODE.get(error.code, usual)


def as_document(error: ScreenerError) -> dict[str, str]:
    """Return the error as the interface gives it."""
    return {"code": error.code, "says": error.says, "where": error.where, "next_step": error.next_step}


def fault_handlers() -> dict[Any, Any]:
    """Return the handlers for what a route may raise."""
    return {ScreenerError: _told, HTTPException: _http, Exception: _ours}


def _told(_: Request, error: Exception) -> Response:
    assert isinstance(error, ScreenerError)  # noqa: S101 the table above says so
    status = status_of(error)
    if status >= 500 and status != 503:
        log.error("%s", error)
    headers = {"Retry-After": str(RETRY_SECONDS)} if status == 503 else None
    return JSONResponse(as_document(error), status_code=status, headers=headers)


def _http(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 the table above says so
    code, says = _OF_HTTP.get(error.status_code, ("error", error.detail))
    body = {"code": code, "says": says, "where": "", "next_step": ""}
    return JSONResponse(body, status_code=error.status_code, headers=dict(error.headers or {}))


def _ours(_: Request, error: Exception) -> Response:
    log.error("a fault of ours", exc_info=error)
    body = {"code": "fault", "says": "the server made a mistake; nothing given is lost.", "where": "", "next_step": ""}
    return JSONResponse(body, status_code=500)
