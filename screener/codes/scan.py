"""One line from a handheld scanner (keyboard wedge), read like a photo's code after undoing what the wedge did."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

from screener.codes.check_digits import gs1_number_holds, gtin_holds, is_digits
from screener.codes.element import Element, check_of, fields_from
from screener.codes.envelope import is_envelope
from screener.codes.gs1_elements import GS, element_of, identifier_at, read_bracketed, read_element_strings
from screener.codes.interpret import LONGEST_TEXT, interpreted
from screener.codes.model import CodeFields, CodeRead

# How wedges write the control characters that a keyboard has no key for (common practice).
_SPELLED = (
    ("\x1d", r"\^\]|<GS>|\{GS\}|\[GS\]|<0x1D>|\\x1[dD]|\\u001[dD]|\u241d|<FNC1>|\{FNC1\}"),
    ("\x1e", r"\^\^|<RS>|\{RS\}|\[RS\]|<0x1E>|\\x1[eE]|\\u001[eE]|\u241e"),
    ("\x04", r"\^D|<EOT>|\{EOT\}|\[EOT\]|<0x04>|\\x04|\\u0004|\u2404"),
)
_AIM = re.compile(r"\][A-Za-z][0-9A-Za-z]")
# ISO/IEC 15424: the letter is the symbology.
_SYMBOLOGIES = {
    "A": "Code 39",
    "C": "Code 128",
    "E": "EAN-13",
    "F": "Codabar",
    "G": "Code 93",
    "I": "ITF",
    "L": "PDF417",
    "Q": "QR Code",
    "d": "Data Matrix",
    "e": "DataBar",
    "z": "Aztec",
}
_NARROWER = {"]E4": "EAN-8", "]C1": "GS1-128", "]e0": "DataBar"}
# Elements that follow a batch or serial on labels of parts: only these are looked for where separators were lost.
_USUAL_NEXT = ("10", "11", "13", "15", "17", "21", "30", "37", "240", "241")
READER = "handheld scanner"


def interpret_scan(line: str, *, today: dt.date) -> CodeRead:
    """Read one line that a handheld scanner typed.

    Parameters
    ----------
    line
        With or without the AIM symbology identifier and line end; group separators as GS (0x1D), ``^]``, ``<GS>``,
        ``{GS}``, or lost.
    today
        The day of reading.

    Returns
    -------
    CodeRead
        ``symbology`` is empty when the scanner did not say it. Never raises.
    """
    text = _restored(line[:LONGEST_TEXT])
    aim = _AIM.match(text)
    identifier = aim.group(0) if aim else ""
    body = text[len(identifier) :]
    symbology = _NARROWER.get(identifier) or _SYMBOLOGIES.get(identifier[1:2], "")
    code = CodeRead(symbology=symbology, text=body, reader=READER, symbology_identifier=identifier)
    if not identifier:
        return _without_identifier(code, today)
    return _with_lost_separators(interpreted(code, today=today), today)


def _restored(line: str) -> str:
    """Give back the control characters and drop line ends and the tabs that scanners add. ``]C1`` may follow a GS."""
    text = line.strip("\r\n\t \x00\x02\x03")
    for character, spelled in _SPELLED:
        text = re.sub(spelled, character, text)
    return text if not _AIM.match(text.lstrip(GS)) else text.lstrip(GS)


def _without_identifier(code: CodeRead, today: dt.date) -> CodeRead:
    text = code.text
    bracketed = read_bracketed(text, today)
    if bracketed:
        return _from_elements(code, bracketed)
    if is_digits(text) and len(text) in (8, 12, 13, 14):
        return _maybe_retail(code, today)
    if not is_envelope(text):
        elements = _gs1_without_promise(text, today)
        if elements:
            says = "Taken as GS1 from its content: let the scanner send the symbology identifier to be sure."
            return _from_elements(replace(code, remarks=(says,)), elements)
    return interpreted(code, today=today)


def _maybe_retail(code: CodeRead, today: dt.date) -> CodeRead:
    if gtin_holds(code.text):
        return _from_elements(code, (Element("GTIN", code.text, code.text, "gtin", check_digit="ok"),))
    if len(code.text) == 13:
        says = f"As an EAN the check digit of {code.text} does not fit: scan again, compare with the printed digits."
        return _from_elements(code, (Element("", code.text, check_digit="bad", remarks=(says,)),))
    return interpreted(code, today=today)


def _gs1_without_promise(text: str, today: dt.date) -> tuple[Element, ...]:
    """Take a text for GS1 only when it opens with a numbered article or package whose check digit holds and every
    element of it is faultless: less than that is met by chance."""  # noqa: D205, D209
    text = text.lstrip(GS)
    length = {"01": 16, "02": 16, "00": 20}.get(text[:2], 0)
    if not length or len(text) <= length or not gs1_number_holds(text[2:length]):
        return ()
    elements = read_element_strings(text, today)
    return elements if all(element.key for element in elements) else ()


def _from_elements(code: CodeRead, elements: tuple[Element, ...]) -> CodeRead:
    remarks = dict.fromkeys(remark for element in elements for remark in element.remarks)
    fields: CodeFields = fields_from(elements)
    return replace(code, fields=fields, check_digit=check_of(elements), remarks=code.remarks + tuple(remarks))


def _with_lost_separators(code: CodeRead, today: dt.date) -> CodeRead:
    """Say where a GS1 message without any separator could be cut in another place."""
    if GS in code.text or code.symbology_identifier not in ("]C1", "]d2", "]Q3", "]e0"):
        return code
    cut = _last_variable(code.text)
    if cut is None:
        return code
    ai, value, start = cut
    splits = _splits(value, today)
    if not splits:
        return code
    if element_of(ai, value, today).key:
        return replace(code, remarks=(*code.remarks, _doubt(ai, value, splits[0])))
    if len(splits) > 1:
        return code
    head, rest = splits[0]
    whole = read_element_strings(f"{code.text[:start]}{ai}{head}{GS}{rest}", today)
    says = (
        "The separators were lost: batch and serial were cut where the length leaves one way. Compare with the label."
    )
    return _from_elements(replace(code, remarks=(says,)), whole)


def _last_variable(text: str) -> tuple[str, str, int] | None:
    """Return identifier, value and place of the element of variable length that swallowed the rest."""
    start = 0
    while start < len(text):
        rule = identifier_at(text[start:])
        if rule is None:
            return None
        if rule.fixed_length is None:
            return rule.ai, text[start + len(rule.ai) :], start
        start += len(rule.ai) + rule.fixed_length
    return None


def _splits(value: str, today: dt.date) -> list[tuple[str, str]]:
    """Ways to cut a value in two so that what follows is made of usual elements without a fault."""
    cuts = (place for place in range(1, len(value) - 2) if value[place:].startswith(_USUAL_NEXT))
    return [(value[:place], value[place:]) for place in cuts if place <= 20 and _faultless(value[place:], today)]


def _faultless(text: str, today: dt.date) -> bool:
    elements = read_element_strings(text, today)
    return all(element.key in _USUAL_NEXT and not element.remarks for element in elements)


def _doubt(ai: str, value: str, split: tuple[str, str]) -> str:
    return (
        f"No separator came: ({ai}) {value} may also be ({ai}) {split[0]} followed by {split[1]}. "
        "Let the scanner send group separators."
    )
