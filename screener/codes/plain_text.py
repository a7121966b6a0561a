"""Text in a code without any envelope: a bare designation, one industrial field, or a web address."""

from __future__ import annotations

import datetime as dt
import re

from screener.codes.check_digits import is_digits
from screener.codes.data_identifiers import read_data_identifier
from screener.codes.element import Element

# Identifiers met alone in Code 39 and Code 128 on labels of parts (common practice), with what their value must look
# like to be taken for one: a bare letter in front is too little evidence.
_ALONE = {
    "P": r"(?=.*[0-9])[A-Z0-9][A-Z0-9 ./+\-]{2,29}",
    "1P": r"(?=.*[0-9])[A-Z0-9][A-Z0-9 ./+\-]{2,29}",
    "30P": r"(?=.*[0-9])[A-Z0-9][A-Z0-9 ./+\-]{2,29}",
    "Q": r"[0-9]{1,7}",
    "S": r"(?=[^0-9]*[0-9])[A-Z]{0,3}[0-9][A-Z0-9\-]{2,19}",
    "T": r"[A-Z]{0,3}[0-9][A-Z0-9\-]{2,19}",
    "1T": r"(?=.*[0-9])[A-Z0-9][A-Z0-9./\-]{1,24}",
    "V": r"[0-9]{4,13}",
    "1V": r"[A-Z0-9]{3,13}",
    "K": r"[A-Z]{0,3}[0-9][A-Z0-9./\-]{3,19}",
    "1K": r"[A-Z0-9./\-]{3,20}",
    "4L": r"[A-Z]{2}",
    "9D": r"[0-9]{4}|[0-9]{6}|[0-9]{8}",
    "10D": r"[0-9]{4}",
    "11D": r"[0-9]{6}",
    "12D": r"[0-9]{8}",
    "14D": r"[0-9]{8}",
    "16D": r"[0-9]{8}",
    "17D": r"[0-9]{8}",
    "D": r"[0-9]{6}",
}
_FIELD = re.compile(r"([0-9]{0,2}[A-Z])(.+)")
_KEY_WORD = re.compile(r"(?:SN|S/N|PN|P/N|QTY|LOT|SER|PO)\b|(?:SN|PN|PO)[0-9]")
_LIST_MARKS = re.compile(r"[;|\t\r\n,\x1d]")


def read_plain(text: str, today: dt.date) -> tuple[Element, ...]:
    """Return what a bare text says; a text that says nothing known comes back as one element without a key."""
    stripped = text.strip()
    if not stripped:
        return ()
    designation = _whole_designation(stripped)
    if designation:
        return (Element("text", designation, designation, "designation"),)
    alone = _single_field(stripped, today)
    if alone:
        return (alone,)
    return _pieces(stripped, today)


def _single_field(text: str, today: dt.date) -> Element | None:
    match = _FIELD.fullmatch(text)
    if match is None or _KEY_WORD.match(text):
        return None
    form = _ALONE.get(match.group(1))
    if form is None or not re.fullmatch(form, match.group(2)):
        return None
    return read_data_identifier(text, today)


def _pieces(text: str, today: dt.date) -> tuple[Element, ...]:
    """Read a list (``6205-2RS;10;…``): pieces that speak for themselves are taken, the rest is unknown."""
    pieces = [piece.strip() for piece in _LIST_MARKS.split(text) if piece.strip()]
    if len(pieces) == 1:
        return _found_inside(text)
    elements: list[Element] = []
    for piece in pieces:
        designation = _whole_designation(piece)
        if designation:
            elements.append(Element("text", designation, designation, "designation"))
        else:
            elements.append(_single_field(piece, today) or Element("", piece))
    return tuple(elements)


def _found_inside(text: str) -> tuple[Element, ...]:
    from screener.parts.finding import find_in_text

    found = [item for item in find_in_text(text) if not is_digits(item.text)]
    if len(found) == 1:
        name = found[0].text
        return (Element("text", name, name, "designation"),)
    return (Element("", text),)


def _whole_designation(text: str) -> str | None:
    """Return the text itself if all of it is one understood designation. Digits alone must name a size that exists."""
    from screener.parts.finding import find_in_text

    if len(text) > 40:
        return None
    for found in find_in_text(text):
        said = found.explained
        whole = (found.start, found.end) == (0, len(text)) and said.understood and not said.not_understood
        if whole and not (is_digits(text) and (len(text) > 5 or said.bore_mm is None)):
            return text
    return None
