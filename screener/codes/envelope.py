"""The ISO/IEC 15434 envelope: ``[)>`` RS, then formats, each two digits and fields between GS, RS after each, EOT."""

from __future__ import annotations

import datetime as dt
import re

from screener.codes.data_identifiers import read_data_identifier
from screener.codes.element import Element
from screener.codes.gs1_elements import GS, read_element_strings

RS = "\x1e"
EOT = "\x04"
HEADER = "[)>"
_FORMAT = re.compile(r"([0-9]{2})(?:\x1d|$)(.*)", re.DOTALL)
_TEXT_ELEMENT = re.compile(r"([A-Z0-9]{3}) (.+)", re.DOTALL)
# Text element identifiers of format 12 (ATA Spec 2000 chapter 9). Source: from memory.
_TEXT_FIELDS = {"PNR": "designation", "PNO": "designation", "SER": "serial", "LOT": "batch", "MFR": "supplier",
                "SPL": "supplier", "CAG": "supplier", "DUN": "supplier"}  # fmt: skip
# What the other two digits stand for (ISO/IEC 15434 table 1); their content is named, not read.
_OTHER_FORMATS = {"00": "reserved", "01": "transportation", "02": "complete EDI message", "03": "ANSI X12 structure",
                  "04": "UN/EDIFACT structure", "07": "free text", "08": "CII structure", "09": "binary data",
                  "15": "text elements"}  # fmt: skip


def is_envelope(text: str) -> bool:
    """Tell whether the text begins as an envelope, whatever happened to its control characters."""
    return text.startswith(HEADER)


def read_envelope(text: str, today: dt.date) -> tuple[Element, ...]:
    """Take an envelope apart.

    A missing RS or EOT at the end, and a lost RS after the header, are tolerated: handheld scanners drop them.
    Without any GS the fields cannot be told apart; then everything is one unknown piece with a remark.
    """
    body = text[len(HEADER) :].strip(RS + EOT)
    if GS not in body and len(body) > 2:
        remark = "The separators of the envelope were lost: let the scanner send control characters, scan again."
        return (Element("", body, remarks=(remark,)),)
    elements: list[Element] = []
    for block in body.split(RS):
        elements.extend(_read_format(block.strip(EOT), today))
    return tuple(elements)


def _read_format(block: str, today: dt.date) -> tuple[Element, ...]:
    match = _FORMAT.fullmatch(block)
    if match is None:
        return (Element("", block, remarks=("A part of the envelope names no format.",)),) if block else ()
    number, content = match.groups()
    if number == "05":
        return read_element_strings(content, today)
    fields = [field for field in content.split(GS) if field]
    if number == "06":
        return tuple(read_data_identifier(field, today) for field in fields)
    if number == "12":
        return tuple(_text_element(field) for field in fields)
    name = _OTHER_FORMATS.get(number, "not assigned")
    return (Element("", content, remarks=(f"Format {number} ({name}) is not read.",)),)


def _text_element(field: str) -> Element:
    match = _TEXT_ELEMENT.fullmatch(field)
    if match is None:
        return Element("", field, remarks=(f"No text element identifier begins {field!r}.",))
    key, value = match.groups()
    return Element(key, value, value, _TEXT_FIELDS.get(key, ""))
