"""Writing a page where the user wants it, and the date that stands on it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from screener.cli.output import messages
from screener.reports.whole_file import write_whole


def today_says() -> str:
    """Return the local date as pages show it: ``25 November 2026``."""
    today = dt.datetime.now(dt.UTC).astimezone().date()
    return f"{today.day} {today:%B %Y}"


def write_page(path: Path, text: str) -> None:
    """Write a page whole or not at all, and say where it lies.

    Raises
    ------
    ScreenerError
        It cannot be written there.
    """
    write_whole(path, [text])
    messages.print(f"Page: {path.resolve()}", markup=False, soft_wrap=True)
