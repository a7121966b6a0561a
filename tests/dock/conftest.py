"""A dock server in this process, with a reader that sees nothing unless a test asks for the real one."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from dock.fake_readers import nothing_seen
from starlette.testclient import TestClient

from screener.dock.app import build_app
from screener.dock.settings import DockSettings
from screener.records.record import Record

TOKEN = "a-token-for-tests-only"  # noqa: S105 no secret
PROGRAM = {"Authorization": f"Bearer {TOKEN}"}
ORDER = b"line,quantity,designation,duty,supplier\n1,4,6205-2RS C3,wet,Quillhaven\n2,1,6203-2Z,dry,Mossbank\n"


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    with Record.open(tmp_path / "record.sqlite") as opened:
        yield opened


@pytest.fixture
def dock(record: Record, tmp_path: Path) -> Iterator[Callable[..., TestClient]]:
    """Start a server with other settings than the usual ones and return a browser on this machine."""
    started: list[TestClient] = []

    def start(*, client: str = "127.0.0.1", raise_faults: bool = True, **settings: Any) -> TestClient:
        usual = {"workers": 1, "reader": nothing_seen, "prepare_readers": False, "api_token": TOKEN}
        made = DockSettings(state_folder=tmp_path, **(usual | settings))
        app = build_app(made, record)
        browser = TestClient(
            app,
            base_url="http://127.0.0.1:8377",
            client=(client, 1),
            raise_server_exceptions=raise_faults,
            follow_redirects=False,
        )
        browser.__enter__()
        started.append(browser)
        return browser

    yield start
    for browser in started:
        browser.__exit__(None, None, None)


@pytest.fixture
def program(dock: Callable[..., TestClient]) -> TestClient:
    """Another program with the right token."""
    client = dock()
    client.headers.update(PROGRAM)
    return client


def photo(number: int | bytes) -> bytes:
    """Bytes that begin like a JPEG; different ones for each number."""
    return b"\xff\xd8\xff\xe0" + (number if isinstance(number, bytes) else b"%d" % number) * 50


def put_photo(
    client: httpx.Client, run: int, line: str, content: bytes, shows: str = "box", name: str = "a.jpg"
) -> Any:
    sha256 = hashlib.sha256(content).hexdigest()
    where = f"/api/v1/deliveries/{run}/photos/{sha256}"
    return client.put(where, params={"line": line, "shows": shows, "name": name}, content=content)


def open_delivery(client: TestClient, order: bytes = ORDER, name: str = "order.csv") -> int:
    """Open a delivery without the way over HTTP, which costs a process."""
    return client.app.state.bench.open_delivery(name, order)


def line_when(client: httpx.Client, run: int, line: str, state: str = "answered", seconds: float = 20) -> Any:
    """Wait until a line is in a state, and return it."""
    end = time.monotonic() + seconds
    while True:
        shown = client.get(f"/api/v1/deliveries/{run}/line", params={"line": line}).json()
        if shown["state"] == state:
            return shown
        assert time.monotonic() < end, shown
        time.sleep(0.05)
