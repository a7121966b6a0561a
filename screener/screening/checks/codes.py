"""What is odd about a code: check digit, dates, readers that disagree."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious, together
from screener.screening.model import Finding
from screener.screening.observed import named, observed

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings

AHEAD_ALLOWED = timedelta(days=92)
"""In the last quarter next year's date code may already be marked (GOST 520-2011, 10.1)."""

NEXT_YEARS_CODE = "GOST 520-2011, 10.1: at most the next year's code in the last quarter"
CHECK_DIGIT = "check digit wrong"
"""Opening words of a `problem` observation that a code's check digit does not fit."""


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Report wrong check digits, readers that disagree, and dates that cannot be."""
    remarks = observed(item, "problem", ("barcode",))
    dates = observed(item, "date", ("barcode", "label"))
    return together([*(_remark(o) for o in remarks), *(_date(o, surroundings.today) for o in dates)])


def _remark(observation: Observation) -> Checked:
    says = f"The {named(observation)}: {observation.value}."
    if str(observation.value).startswith(CHECK_DIGIT):
        rests_on = "GS1 General Specifications, check digit"
        return Checked(findings=(suspicious("check_digit_wrong", says, rests_on, observation),))
    finding = Finding(
        code="code_remark",
        weight="note",
        question="agreement",
        says=says,
        rests_on="the code's own standard",
        observations=(observation.key,),
    )
    return Checked(findings=(finding,))


def _date(observation: Observation, today: str) -> Checked:
    try:
        stated = date.fromisoformat(str(observation.value))
    except ValueError:
        return Checked()
    if stated <= date.fromisoformat(today) + AHEAD_ALLOWED or observation.source.reader == "best_before":
        return Checked()
    says = f"The {named(observation)} is dated {stated.isoformat()}, more than a quarter ahead of today."
    finding = suspicious("date_impossible", says, NEXT_YEARS_CODE, observation)
    return Checked(findings=(finding,))
