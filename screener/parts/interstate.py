"""Numbers of the interstate (GOST 3189) system, offered as ISO designations: suggested, never taken silently.

A bare number such as 180205 may be anything; so it stays "not understood" and its ISO spelling is a suggestion.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from screener.specs.table import read_rows

TABLE = "interstate_heads.csv"
_NUMBER = re.compile(r"(?:(?P<clearance>[6-9])?(?P<accuracy>[024-6])-)?(?P<number>\d{3,7})")
_CLEARANCES = {"6": "2", "7": "3", "8": "4", "9": "5"}


@cache
def _heads() -> Mapping[str, tuple[str, str]]:
    rows = read_rows(TABLE, ("interstate_head", "iso_series", "iso_suffix", "source"))
    return {row.text("interstate_head"): (row.text("iso_series"), row.maybe_text("iso_suffix") or "") for row in rows}


def iso_for_interstate(text: str) -> str | None:
    """Return the ISO spelling of an interstate number, or None.

    >>> iso_for_interstate("76-180205")
    '6205 2RS P63'
    """
    hit = _NUMBER.fullmatch(text.strip())
    if hit is None:
        return None
    series = _heads().get(hit["number"][:-2])
    if series is None:
        return None
    clearance = _CLEARANCES.get(hit["clearance"] or "")
    grade = hit["accuracy"] if hit["accuracy"] in {"6", "5", "4", "2"} else None
    last = f"P{grade}{clearance or ''}" if grade else f"C{clearance}" if clearance else ""
    return " ".join(part for part in (series[0] + hit["number"][-2:], series[1], last) if part)
