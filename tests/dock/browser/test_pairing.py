"""A tablet on the network is paired in a real browser: what that sends of itself is not what a test client sends."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def open_dock(tmp_path: Path) -> Iterator[tuple[str, list[str]]]:
    """A server that lets the network in, and the codes it shows."""
    uvicorn = pytest.importorskip("uvicorn")
    from screener.dock.app import build_app
    from screener.dock.settings import DockSettings
    from screener.records.record import Record

    codes: list[str] = []
    with Record.open(tmp_path / "record.sqlite") as record:
        settings = DockSettings(state_folder=tmp_path / "state", open_to_network=True, prepare_readers=False, workers=1)
        app = build_app(settings, record, codes.append)
        server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        deadline = time.monotonic() + 30
        while not server.started and time.monotonic() < deadline:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}", codes
        server.should_exit = True
        thread.join(10)


def test_a_tablet_is_let_in_with_the_code_and_only_with_it(browser, open_dock) -> None:
    url, codes = open_dock
    page = browser.new_context().new_page()
    page.goto(url)
    assert page.url.endswith("/pair")
    page.get_by_label("Code").fill("0000 0000" if codes[-1] != "0000 0000" else "1111 1111")
    page.get_by_role("button", name="Pair").click()
    page.get_by_role("alert").wait_for()
    page.get_by_label("Code").fill(codes[-1])
    page.get_by_role("button", name="Pair").click()
    page.wait_for_url(f"{url}/")
    assert page.get_by_role("heading", level=1).inner_text() != "Pair this station"
    page.context.close()
