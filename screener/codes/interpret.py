"""What a decoded text means: the standard is chosen by the symbology identifier, never guessed from the digits."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from screener.codes.check_digits import expand_upc_e, gs1_number_holds, is_digits
from screener.codes.digital_link import is_web_address, read_digital_link
from screener.codes.element import Element, check_of, fields_from
from screener.codes.envelope import is_envelope, read_envelope
from screener.codes.gs1_elements import read_element_strings
from screener.codes.plain_text import read_plain

if TYPE_CHECKING:
    from screener.codes.model import CheckDigit, CodeFields, CodeRead

# ISO/IEC 15424: identifiers that promise GS1 element strings (FNC1 first), and those of the retail numbers.
_GS1_IDENTIFIERS = ("]C1", "]d2", "]d5", "]Q3", "]Q4", "]e0", "]e1", "]e2", "]J1", "]z1", "]z4")
_RETAIL_IDENTIFIERS = ("]E0", "]E3", "]E4")
_RETAIL_NAMES = ("EAN-13", "EAN-8", "UPC-A", "UPC-E")
# A text longer than any symbol holds is not a code; reading it would only cost time.
LONGEST_TEXT = 8000


def interpret(
    text: str, symbology: str, symbology_identifier: str, *, today: dt.date
) -> tuple[CodeFields, CheckDigit, tuple[str, ...]]:
    """Say what a code's text means.

    Parameters
    ----------
    text
        As decoded, GS as 0x1D, without the symbology identifier.
    symbology
        ``EAN-13``, ``Code 128`` …; empty when not known.
    symbology_identifier
        AIM identifier such as ``]C1``. GS1 element strings are read only where it promises them.
    today
        The day of reading.

    Returns
    -------
    fields, check_digit, remarks
        ``check_digit`` is ``bad`` when any check digit or check pair in the content fails; never an exception.
    """
    elements = _elements(text[:LONGEST_TEXT], symbology, symbology_identifier, today)
    remarks = dict.fromkeys(remark for element in elements for remark in element.remarks)
    return fields_from(elements), check_of(elements), tuple(remarks)


def interpreted(code: CodeRead, *, today: dt.date) -> CodeRead:
    """Return the code with its meaning filled in; remarks that it had stay in front."""
    fields, check, remarks = interpret(code.text, code.symbology, code.symbology_identifier, today=today)
    return replace(code, fields=fields, check_digit=check, remarks=code.remarks + remarks)


def _elements(text: str, symbology: str, identifier: str, today: dt.date) -> tuple[Element, ...]:
    if identifier in _RETAIL_IDENTIFIERS or symbology in _RETAIL_NAMES:
        return (retail_number(text, symbology),)
    if identifier in _GS1_IDENTIFIERS:
        return read_element_strings(text, today)
    if symbology in ("ITF", "ITF-14") and len(text) == 14 and is_digits(text):
        return (retail_number(text, symbology),)
    if is_envelope(text):
        return read_envelope(text, today)
    if is_web_address(text):
        return read_digital_link(text, today) or (Element("", text),)
    return read_plain(text, today)


def retail_number(text: str, symbology: str) -> Element:
    """Read the number of an EAN, UPC or ITF-14 symbol."""
    number = text.strip()
    if symbology == "UPC-E":
        number = expand_upc_e(number) or number
    if not is_digits(number) or len(number) not in (8, 12, 13, 14):
        return Element("", text, remarks=(f"{text!r} is not a number of 8, 12, 13 or 14 digits.",))
    if gs1_number_holds(number):
        return Element("GTIN", number, number, "gtin", check_digit="ok")
    remark = f"The check digit of {number} does not fit the number: scan again, compare with the printed digits."
    return Element("GTIN", number, number, "gtin", check_digit="bad", remarks=(remark,))
