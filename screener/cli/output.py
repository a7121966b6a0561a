"""How results reach the terminal: results to stdout, everything else to stderr."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from rich.console import Console

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.errors import ScreenerError

results = Console(highlight=False)
"""For what the user asked for."""
messages = Console(stderr=True, highlight=False)
"""For progress, warnings and errors."""


def print_json(document: Mapping[str, Any]) -> None:
    """Print one JSON object on one line."""
    sys.stdout.write(json.dumps(document, ensure_ascii=False, separators=(", ", ": ")) + "\n")


def print_error(error: ScreenerError) -> None:
    """Print what happened, where, and what to do next. The text may hold anything, so no markup is read in it."""
    messages.print(str(error), style="bold", markup=False, soft_wrap=not messages.is_terminal)


def print_plain(text: str, *, style: str | None = None) -> None:
    """Print text that may come from photos, codes or files: never read as markup.

    Lines are broken for a terminal only; a file or another program gets them whole.
    """
    results.print(text, markup=False, style=style, soft_wrap=not results.is_terminal)
