"""What all tests share."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# How long an example takes says more about the machine than about the code.
# CI judges a change, so it tries the same examples every time; a person's run looks for new ones.
settings.register_profile("steady", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("steady")

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser for all tests of pages: a second one in the same thread would not start."""
    if not CHROMIUM.exists():
        pytest.skip("no Chromium here")
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture(autouse=True)
def _record_of_its_own(tmp_path, monkeypatch):
    """No test may write into the user's record."""
    monkeypatch.setenv("SCREENER_RECORD", str(tmp_path / "record.sqlite"))
