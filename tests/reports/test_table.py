"""The table in a terminal: 80 columns, no colour, and no text that steers the terminal."""

from __future__ import annotations

import io

import pytest
from reports.making import screened
from rich.console import Console

from screener.reports.table import print_items
from screener.screening.model import Disposition, ScreenedItem

ACCEPT = Disposition("accept", "use", "All agree.", "", "R7")


def printed(items: list[ScreenedItem], width: int = 80, **more: object) -> str:
    out = io.StringIO()
    print_items(Console(file=out, width=width, **more), items)  # type: ignore[arg-type]
    return out.getvalue()


@pytest.mark.parametrize("width", [60, 80, 140])
def test_every_line_fits_and_says_word_and_reason(width: int) -> None:
    text = printed([screened("a-very-long-item-name-from-a-folder", "Deep groove ball bearing 6205-2RS C3")], width)
    assert all(len(line) <= width for line in text.splitlines())
    assert "HOLD" in text
    assert "1 item: 0 use, 1 hold, 0 send back" in text


def test_without_colour_there_is_no_escape_sign() -> None:
    assert "\x1b" not in printed([screened()], no_color=True)
    assert "\x1b[" in printed([screened()], force_terminal=True, color_system="standard")


def test_use_says_in_the_same_breath_what_was_not_checked() -> None:
    text = " ".join(printed([screened(disposition=ACCEPT)]).split())
    assert "All agree. Not checked: clearance." in text


def test_text_from_labels_is_neither_markup_nor_terminal_codes() -> None:
    nasty = Disposition("hold", "look again", "[bold]x[/bold] \x1b[2J\x07 [/]", "", "R5")
    text = printed([screened(disposition=nasty)])
    assert "[bold]x[/bold]" in text
    assert "\x1b" not in text
    assert "\x07" not in text
