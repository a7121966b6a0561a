"""What is odd about a code: check digit, dates, readers that disagree."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, together
from screener.screening.model import Finding
from screener.screening.observed import named, observed

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings

AHEAD_ALLOWED = timedelta(days=92)
"""In the last quarter next year's date code may already be marked (GOST 520-2011, 10.1)."""

CHECK_DIGIT = "check digit wrong"
"""Opening words of a `problem` observation that a code's check digit does not fit."""


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Report wrong check digits, readers that disagree, and dates that cannot be."""
    remarks = observed(item, "problem", ("barcode",))
    dates = observed(item, "date", ("barcode", "label"))
    return together([*(_remark(o) for o in remarks), *(_date(o, surroundings.today) for o in dates)])


def _remark(observation: Observation) -> Checked:
    wrong_digit = str(observation.value).startswith(CHECK_DIGIT)
    finding = Finding(
        code="check_digit_wrong" if wrong_digit else "code_remark",
        weight="question" if wrong_digit else "note",
        question="suspicion" if wrong_digit else "agreement",
        says=f"The {named(observation)}: {observation.value}.",
        rests_on="GS1 General Specifications, check digit" if wrong_digit else "the code's own standard",
        observations=(observation.key,),
        indicator="LB3" if wrong_digit else None,
    )
    return Checked(findings=(finding,))


def _date(observation: Observation, today: str) -> Checked:
    try:
        stated = date.fromisoformat(str(observation.value))
    except ValueError:
        return Checked()
    if stated <= date.fromisoformat(today) + AHEAD_ALLOWED or observation.source.reader == "best_before":
        return Checked()
    finding = Finding(
        code="date_impossible",
        weight="question",
        question="suspicion",
        says=f"The {named(observation)} is dated {stated.isoformat()}, more than a quarter ahead of today.",
        rests_on="GOST 520-2011, 10.1: at most the next year's code in the last quarter",
        observations=(observation.key,),
        indicator="LB8",
    )
    return Checked(findings=(finding,))
