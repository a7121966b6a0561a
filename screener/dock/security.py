"""The door of the server: who is let in, which hosts it answers for, and what a browser may do with its pages.

One ASGI layer before everything else, so that no route can forget it:

- the ``Host`` must be an address or a name of this machine: a page elsewhere whose name points here gets nothing;
- every request needs a session, but for the pairing page and static files;
- every change needs the session's CSRF token and must not come from another origin;
- every response carries the strict content policy.
"""

from __future__ import annotations

import hmac
import ipaddress
import re
import socket
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import JSONResponse, RedirectResponse, Response

from screener.dock.sessions import COOKIE, VALID_SECONDS, Session

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from screener.dock.sessions import Sessions
    from screener.dock.settings import DockSettings

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; media-src 'self' "
    "blob:; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not "no-referrer": with that a browser sends forms with the origin "null", which the door takes for another site.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}
CSRF_HEADER = "x-csrf-token"
CSRF_FIELD = "csrf_token"
CHANGES = frozenset({"POST", "PUT", "PATCH", "DELETE"})
FOR_PROGRAMS = ("/api/", "/live", "/photos/")
"""Where a token opens; pages are for people."""
LARGEST_FORM_BYTES = 64_000
PAIR = "/pair"
_HOST = re.compile(r"(?P<name>[A-Za-z0-9._-]{1,253}|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?")
_FORM = "application/x-www-form-urlencoded"


class Door:
    """Checks every request before the application sees it."""

    def __init__(self, app: ASGIApp, settings: DockSettings, sessions: Sessions) -> None:
        self._app = app
        self._settings = settings
        self._sessions = sessions
        self._hosts = {"localhost", socket.gethostname().lower(), *(name.lower() for name in settings.host_names)}
        self._hosts |= {f"{name}.local" for name in self._hosts if "." not in name}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        guarded = _with_headers(send)
        headers = Headers(scope=scope)
        if not self._is_our_host(headers.get("host", "")):
            await _refusal(421, "host", "This server does not answer under that name.")(scope, receive, guarded)
            return
        session, cookie = self._session(scope, headers)
        if session is None and not _is_public(scope["path"]):
            await self._not_let_in(scope)(scope, receive, guarded)
            return
        scope.setdefault("state", {})["session"] = session
        if cookie is not None:
            guarded = _with_cookie(guarded, self._cookie_header(cookie))
        if scope["method"] in CHANGES:
            receive, refusal = await self._check_change(scope, headers, receive, session)
            if refusal is not None:
                await refusal(scope, receive, guarded)
                return
        await self._app(scope, receive, guarded)

    def _is_our_host(self, host: str) -> bool:
        written = _HOST.fullmatch(host)
        if written is None:
            return False
        name = written["name"].lower().rstrip(".")
        # A page elsewhere can make its own name point here, but not an address.
        return name in self._hosts or _is_address(name)

    def _session(self, scope: Scope, headers: Headers) -> tuple[Session | None, str | None]:
        """The session of a request, and the cookie to set when it begins here."""
        token = headers.get("authorization", "")
        if token:
            return (self._program(token) if scope["path"].startswith(FOR_PROGRAMS) else None), None
        known = self._sessions.session_of(cookie_parser(headers.get("cookie", "")).get(COOKIE, ""))
        if known is not None:
            return known, None
        if self._may_begin(scope):
            cookie = self._sessions.new_cookie()
            return self._sessions.session_of(cookie), cookie
        return None, None

    def _program(self, header: str) -> Session | None:
        scheme, _, given = header.partition(" ")
        token = self._settings.api_token
        fits = token is not None and hmac.compare_digest(given.strip().encode(), token.encode())
        return Session("program", "program") if fits and scheme.lower() == "bearer" else None

    def _may_begin(self, scope: Scope) -> bool:
        """On this machine alone, opening a page begins a session; from the network every tablet is paired first."""
        path = scope["path"]
        is_page = scope["method"] == "GET" and not path.startswith(("/api/", "/live", "/static/"))
        return is_page and not self._settings.open_to_network and _is_loopback(scope)

    def _not_let_in(self, scope: Scope) -> Response:
        if scope["method"] == "GET" and not scope["path"].startswith(("/api/", "/live")):
            return RedirectResponse(PAIR, status_code=303)
        return _refusal(401, "no_session", "This station is not paired.", "Open the page of this server first.")

    def _cookie_header(self, cookie: str) -> str:
        secure = "; Secure" if self._settings.tls else ""
        return f"{COOKIE}={cookie}; Path=/; Max-Age={VALID_SECONDS}; HttpOnly; SameSite=Strict{secure}"

    async def _check_change(
        self, scope: Scope, headers: Headers, receive: Receive, session: Session | None
    ) -> tuple[Receive, Response | None]:
        """Refuse a change that another site sends through this browser."""
        origin, site = headers.get("origin"), headers.get("sec-fetch-site", "same-origin")
        foreign = origin is not None and origin.partition("://")[2].lower() != headers.get("host", "").lower()
        if foreign or site not in {"same-origin", "none"}:
            return receive, _refusal(403, "foreign_origin", "This change was sent by another site.")
        if session is None or session.kind == "program":
            return receive, None
        given = headers.get(CSRF_HEADER) or _first(scope["query_string"].decode("latin-1"))
        if not given and headers.get("content-type", "").partition(";")[0].strip().lower() == _FORM:
            body, receive = await _body_again(receive)
            given = _first(body.decode("latin-1"))
        if given and hmac.compare_digest(given.encode(), session.csrf_token.encode()):
            return receive, None
        return receive, _refusal(403, "csrf", "This change lacks the page's token.", "Reload the page and try again.")


def set_session(response: Response, sessions: Sessions, settings: DockSettings) -> None:
    """Give a station that has just been paired its cookie."""
    response.set_cookie(
        COOKIE,
        sessions.new_cookie(),
        max_age=VALID_SECONDS,
        httponly=True,
        samesite="strict",
        secure=settings.tls,
    )


def _is_public(path: str) -> bool:
    return path == PAIR or path.startswith("/static/")


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    return client is not None and _is_address(client[0]) and ipaddress.ip_address(client[0]).is_loopback


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _first(query: str) -> str:
    return parse_qs(query).get(CSRF_FIELD, [""])[0]


async def _body_again(receive: Receive) -> tuple[bytes, Receive]:
    """Read a small body and return it with a ``receive`` that gives it once more."""
    body, more = b"", True
    while more and len(body) <= LARGEST_FORM_BYTES:
        message = await receive()
        body += message.get("body", b"")
        more = message["type"] == "http.request" and message.get("more_body", False)
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": more}

    return body, again


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return guarded


def _with_cookie(send: Send, cookie: str) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            MutableHeaders(scope=message).append("Set-Cookie", cookie)
        await send(message)

    return guarded


def _refusal(status: int, code: str, says: str, next_step: str = "") -> Response:
    return JSONResponse({"code": code, "says": says, "where": "", "next_step": next_step}, status_code=status)
