"""Text from labels, codes and file names, made fit for every database and every page.

A scanner can send a NUL, a file name on Linux can hold bytes that are no text at all. PostgreSQL refuses the first,
UTF-8 the second. Both are shown instead of dropped.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any


def storable_text(text: str) -> str:
    r"""Return ``text`` with NUL shown as ``␀`` and undecodable bytes as ``\udc..`` escapes."""
    return text.replace("\0", "␀").encode("utf-8", "backslashreplace").decode("utf-8")


def storable_json(value: Any) -> Any:
    """Return a copy of a JSON-like value that every database takes: clean texts, no NaN, no infinity, lists for tuples.

    Values of other kinds become their text.
    """
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str):
        return storable_text(value)
    if isinstance(value, Mapping):
        return {storable_text(str(key)): storable_json(entry) for key, entry in value.items()}
    if isinstance(value, set | frozenset):
        return [storable_json(entry) for entry in sorted(value, key=str)]
    if isinstance(value, list | tuple):
        return [storable_json(entry) for entry in value]
    return storable_text(str(value))
