"""ANSI MH10.8.2 data identifiers: the letters in front of a value on industrial labels (``1P``, ``Q``, ``1T`` …)."""

from __future__ import annotations

import datetime as dt
import re

from screener.codes.check_digits import gtin_holds, is_digits
from screener.codes.dates import date_remarks, read_date
from screener.codes.element import Element
from screener.codes.identifier_tables import DataIdentifier, data_identifiers

_IDENTIFIER = re.compile(r"([0-9]{0,2}[A-Z])(.+)", re.DOTALL)
_QUANTITY = re.compile(r"([0-9]{1,12})(?:\.0+)?")
_LARGEST_QUANTITY = 10**9


def read_data_identifier(text: str, today: dt.date) -> Element:
    """Take one field apart that is known to begin with a data identifier (inside an envelope).

    Returns
    -------
    Element
        With an empty ``key`` when no identifier of the table begins the text.
    """
    match = _IDENTIFIER.fullmatch(text.strip())
    rule = data_identifiers().get(match.group(1)) if match else None
    if match is None or rule is None:
        return Element("", text, remarks=(f"No data identifier begins {text!r}.",))
    return _MEANINGS.get(rule.form, _as_date)(rule, match.group(2).strip(), today)


def _as_text(rule: DataIdentifier, value: str, _today: dt.date) -> Element:
    return Element(rule.di, value, value, rule.field)


def _as_quantity(rule: DataIdentifier, value: str, _today: dt.date) -> Element:
    match = _QUANTITY.fullmatch(value)
    if match is None:
        return Element(rule.di, value, remarks=(f"{rule.di}: {value!r} is not a whole number of pieces.",))
    number = int(match.group(1))
    return Element(rule.di, value, str(number), rule.field, remarks=_quantity_remarks(rule.di, number))


def _quantity_remarks(di: str, number: int) -> tuple[str, ...]:
    if number == 0:
        return (f"{di}: a quantity of 0.",)
    return (f"{di}: {number} pieces in one package is hard to believe.",) if number > _LARGEST_QUANTITY else ()


def _as_quantity_with_unit(rule: DataIdentifier, value: str, today: dt.date) -> Element:
    """Read 7Q: the quantity followed by two letters; only pieces and each fill the field."""
    number, unit = value[:-2], value[-2:]
    if unit in ("PC", "EA", "PE", "UN"):
        inner = _as_quantity(rule, number, today)
        return Element(rule.di, value, inner.meaning, inner.field, remarks=inner.remarks)
    return Element(rule.di, value)


def _as_country(rule: DataIdentifier, value: str, _today: dt.date) -> Element:
    if re.fullmatch(r"[A-Z]{2}", value):
        return Element(rule.di, value, value, rule.field)
    return Element(rule.di, value, remarks=(f"{rule.di}: {value!r} is not a country of two letters.",))


def _as_gtin(rule: DataIdentifier, value: str, _today: dt.date) -> Element:
    if gtin_holds(value):
        return Element(rule.di, value, value, rule.field, check_digit="ok")
    known = is_digits(value) and len(value) == 14
    remark = f"{rule.di}: the check digit of {value} does not fit the number." if known else f"{value!r} is not a GTIN."
    return Element(rule.di, value, value if known else "", rule.field if known else "", "", "bad", (remark,))


def _as_date(rule: DataIdentifier, value: str, today: dt.date) -> Element:
    form = rule.form.removesuffix("+3")
    date = read_date(value[: len(form)] if rule.form.endswith("+3") else value, form, today)
    if date is None:
        return Element(rule.di, value, remarks=(f"{rule.di}: {value!r} is not a date ({form}).",))
    remarks = date_remarks(date, rule.date_kind, today)
    return Element(rule.di, value, date.isoformat(), rule.field, rule.date_kind, remarks=remarks)


_MEANINGS = {
    "": _as_text,
    "text": _as_text,
    "number": _as_quantity,
    "number_unit": _as_quantity_with_unit,
    "alpha2": _as_country,
    "gtin": _as_gtin,
}
