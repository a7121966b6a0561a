"""Dates in codes: the forms they are written in, and whether they make sense."""

from __future__ import annotations

import calendar
import datetime as dt

from screener.codes.check_digits import is_digits

MADE_KINDS = ("production", "packed")
"""Kinds of date that lie in the past of a part in hand."""

AGE_WORDS = " years back"
"""Stands in every remark that tells only the age of a date."""

# Storage of closed greased bearings: 1, 2, 3 and 5 years are all published; rubber 3 to 10 years by polymer (ISO 2230
# groups). Two and five years are the points at which a remark is worth reading (common practice).
_LOOK_AT_GREASE_YEARS = 2
_REVIEW_YEARS = 5
_DAYS_A_YEAR = 365.25
# 9D is "mutually agreed": only forms that the length alone tells apart are tried.
_AGREED = {8: "YYYYMMDD", 6: "YYMMDD", 4: "YYWW"}


def full_year(two_digits: int, today: dt.date) -> int:
    """Return the year meant by two digits: 49 years back to 50 ahead (GS1 General Specifications 7.12)."""
    year = today.year - today.year % 100 + two_digits
    if year - today.year >= 51:
        return year - 100
    return year + 100 if year - today.year <= -50 else year


def read_date(text: str, form: str, today: dt.date) -> dt.date | None:
    """Return the date written in a form such as ``YYMMDD``, ``YYWW``, ``YDDD`` or ``MMYY``; ``None`` if it is none.

    The form spells the places: Y year, M month, D day (three D: day of the year), W week of ISO 8601. A week gives its
    Monday, a month its first day; ``0`` in place of the second D allows day 00, the last day of the month.
    """
    if form == "agreed":
        form = _AGREED.get(len(text), "")
    if not form or len(text) != len(form) or not is_digits(text):
        return None
    digits = {letter: _under(letter, text, form) for letter in "YMDW"}
    try:
        return _date_of(digits, today, day_zero="0" in form)
    except (ValueError, OverflowError):
        return None


def date_remarks(date: dt.date, kind: str, today: dt.date) -> tuple[str, ...]:
    """Say what is odd about a date, given what it is the date of."""
    if kind in MADE_KINDS:
        return _made_remarks(date, kind, today)
    if kind in ("expiry", "best_before", "sell_by") and date < today:
        name = kind.replace("_", " ")
        return (f"The {name} date {date.isoformat()} has passed: look at grease and rubber before use.",)
    return ()


def _under(letter: str, text: str, form: str) -> str:
    return "".join(digit for digit, place in zip(text, form.replace("D0", "DD"), strict=True) if place == letter)


def _date_of(digits: dict[str, str], today: dt.date, *, day_zero: bool) -> dt.date:
    year = _year_of(digits["Y"], today)
    if digits["W"]:
        return dt.date.fromisocalendar(year, int(digits["W"]), 1)
    if len(digits["D"]) == 3:
        return _day_of_year(year, int(digits["D"]))
    month, day = int(digits["M"]), int(digits["D"] or "1")
    if day == 0 and day_zero:
        day = calendar.monthrange(year, month)[1]
    return dt.date(year, month, day)


def _year_of(digits: str, today: dt.date) -> int:
    if len(digits) == 4:
        return int(digits)
    if len(digits) == 2:
        return full_year(int(digits), today)
    # One digit: the latest such year that is not in the future.
    return today.year - (today.year - int(digits)) % 10


def _day_of_year(year: int, day: int) -> dt.date:
    date = dt.date(year, 1, 1) + dt.timedelta(days=day - 1)
    if date.year != year:
        raise ValueError(day)
    return date


def _made_remarks(date: dt.date, kind: str, today: dt.date) -> tuple[str, ...]:
    if date > today:
        return (f"The {kind} date {date.isoformat()} lies in the future: read the printed date beside it.",)
    years = (today - date).days / _DAYS_A_YEAR
    says = f"The {kind} date {date.isoformat()} is {years:.0f}{AGE_WORDS}"
    if years >= _REVIEW_YEARS:
        return (f"{says}, longer than grease and rubber are usually stored: hold for review of the storage.",)
    if years >= _LOOK_AT_GREASE_YEARS:
        return (f"{says}: look whether the wrap is whole, the grease soft and the part turns freely.",)
    return ()
