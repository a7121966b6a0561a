"""Cells that a spreadsheet shows as text, whatever stands in them.

A label can carry ``=HYPERLINK(...)`` as its batch number; a spreadsheet that opens our CSV would run it. A leading
apostrophe makes it text (OWASP, "CSV Injection": cells beginning with = + - @ tab or carriage return).
"""

from __future__ import annotations

import re

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "|", "%")
_PLAIN_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")


def safe_cell(value: object) -> str:
    """Return ``value`` as the text of a CSV cell that no spreadsheet takes for a formula.

    Numbers stay numbers (``-3.5``); None becomes an empty cell; line breaks become spaces.
    """
    if value is None:
        return ""
    if isinstance(value, int | float):
        return str(value)
    text = " ".join(str(value).replace("\0", "␀").splitlines()) if "\n" in str(value) else str(value)
    if text.lstrip(" ").startswith(_STARTS_A_FORMULA) and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text
