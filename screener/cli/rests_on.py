"""What an answer rests on, for a person: the table and row, and how many sources stand behind it."""

from __future__ import annotations

import re

_KEYED = re.compile(r"(?P<where>.+) \((?P<words>[\w+.-]+)\)")


def rests_on_says(told: str) -> str:
    """Return it without the keys of sources, which mean nothing to a reader; the file that explains them is named."""
    match = _KEYED.fullmatch(told)
    if match is None:
        return told
    count = match["words"].count("+") + 1
    sources = f"source: {match['words']}" if count == 1 else f"{count} sources"
    return f"{match['where']} ({sources}, explained in reference_specs/sources.toml)"
