"""A real server on a free port and a real browser before it. Skipped where there is no Chromium."""

from __future__ import annotations

import csv
import io
import os
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

SAMPLES = Path(__file__).parents[3] / "samples"
TABLET = {"width": 800, "height": 1280}
PHONE = {"width": 360, "height": 740}
ANSWER_MS = 90_000
"""Two cores read a photo in two to four seconds, the first one after loading the models."""


@dataclass
class Dock:
    """A running server and how to reach it."""

    url: str
    folder: Path

    def order(self, *lines: str, mark: str) -> Path:
        """Write an order with some lines of the sample order; ``mark`` makes it an order of its own."""
        rows = [row for row in csv.DictReader((SAMPLES / "order.csv").open(encoding="utf-8")) if row["line"] in lines]
        text = io.StringIO()
        writer = csv.DictWriter(text, fieldnames=[*rows[0], "mark"])
        writer.writeheader()
        writer.writerows({**row, "mark": mark} for row in rows)
        path = self.folder / f"{mark}.csv"
        path.write_text(text.getvalue(), encoding="utf-8")
        return path


@pytest.fixture(scope="session")
def dock(tmp_path_factory) -> Iterator[Dock]:
    uvicorn = pytest.importorskip("uvicorn")
    from dock.browser.kept_readings import look_or_remember

    from screener.dock.app import build_app
    from screener.dock.settings import DockSettings
    from screener.records.record import Record

    folder = tmp_path_factory.mktemp("dock")
    Image.new("RGB", (640, 480), "grey").save(folder / "box.png")
    with Record.open(folder / "record.sqlite") as record:
        settings = DockSettings(
            state_folder=folder / "state",
            reader=look_or_remember,
            prepare_readers="SCREENER_KEPT_READINGS" not in os.environ,
        )
        app = build_app(settings, record)
        server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        deadline = time.monotonic() + 30
        while not server.started and time.monotonic() < deadline:
            time.sleep(0.02)
        port = server.servers[0].sockets[0].getsockname()[1]
        yield Dock(f"http://127.0.0.1:{port}", folder)
        server.should_exit = True
        thread.join(10)


@pytest.fixture
def tablet(browser, dock):
    """Open pages as one station; further calls are further stations."""
    contexts = []

    def opened(**settings):
        context = browser.new_context(base_url=dock.url, **{"viewport": TABLET, **settings})
        context.set_default_timeout(10_000)
        contexts.append(context)
        return context.new_page()

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def page(tablet):
    page = tablet()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None)
    yield page
    assert faults == []


@pytest.fixture(scope="session")
def album(tmp_path_factory):
    """Keep a picture of a page; SCREENER_SCREENSHOTS names a folder to look at them."""
    folder = Path(os.environ.get("SCREENER_SCREENSHOTS") or tmp_path_factory.mktemp("screenshots"))
    folder.mkdir(parents=True, exist_ok=True)

    def picture(page, name: str, *, full: bool = True) -> None:
        page.screenshot(path=folder / f"{name}.png", full_page=full)

    return picture


def photos(line: str) -> dict[str, Path]:
    """The drawn photos of a line of the sample delivery."""
    folder = SAMPLES / "photos" / line
    return {"box": folder / "box.jpg", "face1": folder / "face_1.jpg", "face2": folder / "face_2.jpg"}


def open_delivery(page, path: Path) -> None:
    """Bring an order, as the clerk does."""
    page.goto("/deliveries")
    page.set_input_files("#order", path)
    page.get_by_role("button", name="Open the order").click()
    page.wait_for_url("**/deliveries/*")


def take(page, line: str, *shots: str) -> None:
    """Take the photos that are asked for."""
    for shows in shots or ("box", "face1", "face2"):
        page.set_input_files(f"#photo-{shows}", photos(line)[shows])


def ready(page) -> None:
    """A person sees the page before the next scan."""
    from playwright.sync_api import expect

    expect(page.locator("html.scripted")).to_have_count(1)


@pytest.fixture
def line3(page, dock, request):
    """A line of a delivery of its own, without photos: a reading or a scan answers it at once."""
    open_delivery(page, dock.order("3", "13", "14", mark=request.node.name))
    page.get_by_role("link", name="6203-2Z").first.click()
    page.wait_for_url("**/lines/3")
    ready(page)
    return page
