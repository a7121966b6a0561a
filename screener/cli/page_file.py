"""Writing a page where the user wants it, and the date that stands on it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from screener.cli.output import messages
from screener.errors import ScreenerError


def today_says() -> str:
    """Return the local date as pages show it: ``25 November 2026``."""
    today = dt.datetime.now(dt.UTC).astimezone().date()
    return f"{today.day} {today:%B %Y}"


def write_page(path: Path, text: str) -> None:
    """Write a page and say where it lies.

    Raises
    ------
    ScreenerError
        It cannot be written there.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise ScreenerError(
            f"The page could not be written ({error.strerror}).",
            where=str(path),
            next_step="Name another place.",
            code="report_not_written",
        ) from error
    messages.print(f"Page: {path.resolve()}", markup=False, soft_wrap=True)
