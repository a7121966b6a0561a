"""GS1 Digital Link: a web address whose path names an article (GS1 Digital Link URI syntax 1.1 and later)."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, unquote, urlsplit

from screener.codes.gs1_elements import element_of
from screener.codes.identifier_tables import application_identifiers

if TYPE_CHECKING:
    from screener.codes.element import Element

# Primary keys with the qualifiers that may follow them in the path, in this order (URI syntax, section 4.4).
_PRIMARY = {
    "01": ("22", "10", "21", "235"),
    "8006": ("22", "10", "21"),
    "8010": ("8011",),
    "8013": (),
    "8017": ("8019",),
    "8018": ("8019",),
    "414": ("254", "7040"),
    "415": ("8020",),
    "417": ("7040",),
    **dict.fromkeys(("00", "253", "255", "401", "402", "8003", "8004"), ()),
}
_WORDS = {"gtin": "01", "cpv": "22", "lot": "10", "ser": "21", "sscc": "00", "exp": "17"}


def is_web_address(text: str) -> bool:
    """Tell whether the text starts like an http address, in any case of letters (QR codes like capitals)."""
    return text[:8].lower().startswith(("http://", "https://"))


def read_digital_link(text: str, today: dt.date) -> tuple[Element, ...]:
    """Return the elements that a web address carries; empty when it is an ordinary one."""
    try:
        parts = urlsplit(text.strip())
    except ValueError:
        return ()
    path = [unquote(piece) for piece in parts.path.split("/") if piece]
    start = _primary_at(path)
    if start is None:
        return ()
    pairs = [(_number(key), value) for key, value in zip(path[start::2], path[start + 1 :: 2], strict=False)]
    table = application_identifiers()
    pairs += [(_number(key), value) for key, value in parse_qsl(parts.query) if _number(key) in table]
    return tuple(element_of(ai, _padded(ai, value), today) for ai, value in pairs)


def _primary_at(path: list[str]) -> int | None:
    """Find where the key stands: everything after it must be its qualifiers, in pairs, so that an ordinary address
    with a folder ``/01/`` is not taken for an article."""  # noqa: D205, D209
    for start, piece in enumerate(path):
        qualifiers = _PRIMARY.get(_number(piece))
        tail = path[start + 2 :: 2]
        value_there = (len(path) - start) % 2 == 0
        if qualifiers is not None and value_there and all(_number(key) in qualifiers for key in tail):
            return start
    return None


def _number(key: str) -> str:
    return _WORDS.get(key, key)


def _padded(ai: str, value: str) -> str:
    return value.zfill(14) if ai in ("01", "8006") and len(value) in (8, 12, 13) else value
