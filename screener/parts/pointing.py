"""Showing where in a designation something was not understood."""

from __future__ import annotations

from screener.parts.model import Explained


def point_at(explained: Explained) -> str | None:
    """Return the input with a marker line under what was not understood, or None if all was.

    >>> from screener.parts.explaining import explain
    >>> print(point_at(explain("6202-2RS1 C8")))
    6202-2RS1 C8
              ~~
    """
    if explained.understood or not explained.spans:
        return None
    marks = [" "] * len(explained.input)
    for start, end in explained.spans:
        marks[start:end] = "~" * (end - start)
    return f"{explained.input}\n{''.join(marks).rstrip()}"
