"""Writing a page where the user wants it."""

from __future__ import annotations

from pathlib import Path

from screener.cli.output import messages
from screener.reports.whole_file import write_whole


def write_page(path: Path, text: str) -> None:
    """Write a page whole or not at all, and say where it lies.

    Raises
    ------
    ScreenerError
        It cannot be written there.
    """
    write_whole(path, [text])
    messages.print(f"Page: {path.resolve()}", markup=False, soft_wrap=True)
