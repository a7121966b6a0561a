"""The server at its port: made, announced, run until it is stopped."""

from __future__ import annotations

import secrets
import socket
from typing import TYPE_CHECKING

from screener.errors import InputUnreadable, ScreenerError, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from screener.dock.settings import DockSettings
    from screener.records.record import Record

SHORTEST_TOKEN = 20
GRACE_SECONDS = 3


def serve(
    settings: DockSettings, record: Record, say: Callable[[str], None], *, tls: tuple[Path, Path] | None = None
) -> None:
    """Run the server until it is stopped.

    Parameters
    ----------
    settings, record
        As for `build_app`.
    say
        Shows a line to the person at the server.
    tls
        Certificate and key, for https.

    Raises
    ------
    ScreenerError
        The port is taken.
    """
    import uvicorn

    from screener.dock.app import build_app

    listener = _listen(settings)
    for address in _addresses(settings, listener.getsockname()[1]):
        say(f"Open {address}")

    def tell_code(code: str) -> None:
        if settings.open_to_network:
            say(f"Pairing code, for ten minutes: {code}")

    app = build_app(settings, record, tell_code)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Who connects is who connects: a header must not make a stranger look like this machine.
        proxy_headers=False,
        lifespan="on",
        timeout_graceful_shutdown=GRACE_SECONDS,
        ssl_certfile=tls[0] if tls else None,
        ssl_keyfile=tls[1] if tls else None,
    )
    uvicorn.Server(config).run(sockets=[listener])


def token_in(path: Path) -> str:
    """Return the secret of other programs from a file; where there is none, one is made.

    Raises
    ------
    InputUnreadable
        The file cannot be read or made.
    WrongUsage
        The secret in it is too short to be one.
    """
    try:
        if not path.exists():
            path.touch(mode=0o600)
            path.write_text(secrets.token_urlsafe(32) + "\n", encoding="ascii")
        token = path.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InputUnreadable("this file cannot be read or made.", where=str(path)) from error
    if len(token) < SHORTEST_TOKEN:
        raise WrongUsage(
            f"a token has at least {SHORTEST_TOKEN} characters.",
            where=str(path),
            next_step="Name a file that does not exist: a token is made there.",
        )
    return token


def _listen(settings: DockSettings) -> socket.socket:
    host = "0.0.0.0" if settings.open_to_network else "127.0.0.1"  # noqa: S104 only when told to
    try:
        return socket.create_server((host, settings.port), backlog=128)
    except OSError as error:
        raise ScreenerError(
            f"this port cannot be used ({error.strerror}).",
            where=str(settings.port),
            next_step="Is a server running already? Else name another with --port.",
            code="port",
        ) from error


def _addresses(settings: DockSettings, port: int) -> list[str]:
    scheme = "https" if settings.tls else "http"
    hosts = ["127.0.0.1"]
    if settings.open_to_network:
        hosts = [*settings.host_names, _own_address(), socket.gethostname()]
    return [f"{scheme}://{host}:{port}" for host in dict.fromkeys(hosts) if host]


def _own_address() -> str:
    """The address under which the shop's network knows this machine; nothing is sent for it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # TEST-NET-1 of RFC 5737: belongs to nobody.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return ""
        return str(probe.getsockname()[0])
