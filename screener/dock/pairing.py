"""Pairing a tablet: the code that the server prints is typed once, the tablet keeps a cookie."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from screener.dock.security import PAIR, set_session

if TYPE_CHECKING:
    from starlette.requests import Request

_SAYS = {
    "": "Type the code that the server shows on its screen.",
    "no": "That is not the code. Look at the server's screen again: after a few wrong tries it shows a new one.",
    "wait": "Too many tries. Wait a minute, then type the code that the server shows.",
}
_STATUS = {"": 200, "no": 403, "wait": 429}
LONGEST_FORM_BYTES = 1000


def routes() -> list[Route]:
    """Return the routes of pairing."""
    return [Route(PAIR, ask), Route(PAIR, admit, methods=["POST"])]


async def ask(request: Request) -> Response:
    """Show the page that asks for the code; where the last one is too old, the server shows a new one now."""
    request.app.state.pairing.refresh()
    return _page(request, "")


async def admit(request: Request) -> Response:
    """Let a tablet in whose code is right."""
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LONGEST_FORM_BYTES:
            return _page(request, "no")
    code = parse_qs(body.decode("latin-1")).get("code", [""])[0]
    verdict = request.app.state.pairing.admits(code)
    if verdict != "yes":
        return _page(request, verdict)
    response = RedirectResponse("/", status_code=303)
    set_session(response, request.app.state.sessions, request.app.state.settings)
    return response


def _page(request: Request, verdict: str) -> Response:
    response: Response = request.app.state.templates.TemplateResponse(
        request, "pair.html.j2", {"says": _SAYS[verdict], "wrong": verdict != ""}, status_code=_STATUS[verdict]
    )
    if verdict == "wait":
        response.headers["Retry-After"] = "60"
    return response
