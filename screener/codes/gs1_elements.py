"""GS1 element strings: a text after FNC1 taken apart by the table of application identifiers.

Read here, strictly, rather than by a parser that gives up a message at its first fault: a label with one impossible
date still names its article, and the date becomes a remark.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

from screener.codes.dates import date_remarks, read_date
from screener.codes.element import Element
from screener.codes.element_checks import CHECK_DIGIT_NAMES, problem_with
from screener.codes.identifier_tables import ApplicationIdentifier, application_identifiers, country_codes

if TYPE_CHECKING:
    from screener.codes.model import CheckDigit

GS = "\x1d"
_HRI = re.compile(r"\(([0-9]{2,4})\)([^(]*)")


def read_element_strings(text: str, today: dt.date) -> tuple[Element, ...]:
    """Take a GS1 message apart.

    Parameters
    ----------
    text
        The data after the leading FNC1, GS (0x1D) between elements.
    today
        The day of reading, for the century of two-digit years and for what lies in the future.

    Returns
    -------
    tuple of Element
        In the order read. What no identifier names, or does not fit its identifier, has an empty ``key``.
    """
    elements: list[Element] = []
    for segment in text.split(GS):
        rest = segment
        while rest:
            element, rest = _next_element(rest, today)
            elements.append(element)
    return tuple(elements) + _forbidden_pairs(elements)


def read_bracketed(text: str, today: dt.date) -> tuple[Element, ...]:
    """Take apart the human readable form, ``(01)09506000134352(10)AB1``; empty when the text is not of that form."""
    squeezed = "".join(text.split())
    if not re.fullmatch(r"(?:\([0-9]{2,4}\)[^(]+)+", squeezed):
        return ()
    return tuple(element_of(ai, value, today) for ai, value in _HRI.findall(squeezed))


def element_of(ai: str, value: str, today: dt.date) -> Element:
    """Check one value that stands under a given application identifier."""
    rule = application_identifiers().get(ai)
    if rule is None:
        return Element("", f"{ai}{value}", remarks=(f"No GS1 element has the identifier {ai}.",))
    match = rule.pattern.fullmatch(value)
    if match is None:
        return _misfit(rule, value)
    problems, check = _checked(rule, match)
    return _meant(rule, value, problems, check, today)


def identifier_at(text: str) -> ApplicationIdentifier | None:
    """Return the application identifier that the text starts with. None of them is the beginning of another."""
    table = application_identifiers()
    return next((table[text[:size]] for size in (2, 3, 4) if text[:size] in table), None)


def _next_element(rest: str, today: dt.date) -> tuple[Element, str]:
    rule = identifier_at(rest)
    if rule is None:
        return Element("", rest, remarks=(f"No GS1 element begins with {rest[:4]!r}.",)), ""
    data = rest[len(rule.ai) :]
    length = rule.fixed_length or len(data)
    return element_of(rule.ai, data[:length], today), data[length:]


def _misfit(rule: ApplicationIdentifier, value: str) -> Element:
    form = "+".join(part.form for part in rule.components)
    remark = f"({rule.ai}) {rule.title}: {value!r} does not have the form {form}."
    return Element("", f"{rule.ai}{value}", remarks=(remark,))


def _checked(rule: ApplicationIdentifier, match: re.Match[str]) -> tuple[tuple[str, ...], CheckDigit]:
    problems: list[str] = []
    check: CheckDigit = "none"
    for part, text in zip(rule.components, match.groups(), strict=True):
        for name in part.checks if text is not None else ():
            problem = problem_with(name, text)
            if problem:
                problems.append(f"({rule.ai}) {rule.title}: {problem}.")
            if name in CHECK_DIGIT_NAMES and check != "bad":
                check = "bad" if problem else "ok"
    return tuple(problems), check


def _meant(
    rule: ApplicationIdentifier, value: str, problems: tuple[str, ...], check: CheckDigit, today: dt.date
) -> Element:
    # A value with a problem keeps its identifier and fills no field, except a number with a wrong check digit: that
    # one must be shown beside its remark.
    field, meaning, remarks = rule.field, value, problems
    if problems and check != "bad":
        field = ""
    elif field == "date":
        date = read_date(value, "YYMMD0", today)
        meaning = date.isoformat() if date else value
        remarks += date_remarks(date, rule.date_kind, today) if date else ()
    elif field == "quantity":
        meaning = str(int(value))
        remarks += (f"({rule.ai}) {rule.title}: a quantity of 0.",) if int(value) == 0 else ()
    elif field == "country":
        meaning = country_codes().get(value, value)
    return Element(rule.ai, value, meaning, field, rule.date_kind, check, remarks)


def _forbidden_pairs(elements: list[Element]) -> tuple[Element, ...]:
    """Name elements that the standard forbids beside each other, as one element without value."""
    present = {element.key for element in elements if element.key}
    remarks = [
        f"GS1 forbids ({other}) beside ({ai})."
        for ai in sorted(present)
        for other in sorted(present - {ai})
        if any(_stands_for(pattern, other) for pattern in application_identifiers()[ai].not_with)
    ]
    return (Element("", "", remarks=tuple(remarks)),) if remarks else ()


def _stands_for(pattern: str, ai: str) -> bool:
    return len(pattern) == len(ai) and all(want in ("n", have) for want, have in zip(pattern, ai, strict=True))
