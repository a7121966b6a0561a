"""Do the dates and quantities on the box make sense: age against storage life, dates that cannot be, odd numbers."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from screener.screening.checks.codes import AHEAD_ALLOWED, NEXT_YEARS_CODE
from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import BOX_CHANNELS, Finding
from screener.screening.observed import certain, named, observed
from screener.specs.storage import HOLD_ABOVE, NO_REMARK, elastomer_storage, storage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.parts.model import Explained
    from screener.screening.model import Item, Observation, Surroundings
    from screener.specs.storage import StorageRow

_DAYS_A_YEAR = 365.25
_UNTIL = ("best_before", "sell_by", "expiry")
"""`Source.reader` of dates up to which a part is good; every other date is one of making or packing."""

MOST_PIECES = 20_000
"""More pieces of a rolling bearing or seal in one package are a misread or mistyped number (judgement)."""

_NO_DATE = "is not a date ("
# Where a seal's rubber is not told: the group that keeps shortest.
_UNTOLD = "elastomer group A"
_OPEN = "open preserved bearing"


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Judge every date and quantity on label and codes."""
    today = date.fromisoformat(surroundings.today)
    findings = [*_impossible(item), *_dates(item, today), *_quantities(item)]
    return Checked(findings=tuple(findings))


def day_of(text: str) -> date | None:
    """Return the first day that a date as exact as it is printed may mean: a day, a month, a week of ISO 8601."""
    try:
        return date.fromisoformat(f"{text}-01" if re.fullmatch(r"\d{4}-\d{2}", text) else text)
    except ValueError:
        return None


def _impossible(item: Item) -> Iterator[Finding]:
    for o in observed(item, "problem", ("barcode",)):
        if _NO_DATE in str(o.value):
            says = f"The {named(o)} carries a date that no calendar has: {o.value}."
            yield suspicious("date_impossible", says, "the code's own standard", o)


def _dates(item: Item, today: date) -> Iterator[Finding]:
    dated = [(day, o) for o in observed(item, "date", BOX_CHANNELS) if (day := day_of(str(o.value))) is not None]
    for day, o in dated:
        # A whole date ahead of today is told by the check of codes; a month has no day that it could see.
        if len(str(o.value)) == len("2026-05") and day > today + AHEAD_ALLOWED and o.source.reader not in _UNTIL:
            says = f"The {named(o)} is dated {o.value}, more than a quarter ahead of today."
            yield suspicious("date_impossible", says, NEXT_YEARS_CODE, o)
    yield from _passed(item, dated, today)
    made = [(day, o) for day, o in dated if o.source.reader not in _UNTIL and certain(o, item)]
    if made:
        # The oldest date counts: a box may be packed long after its part was made.
        yield from _old(item, *min(made, key=lambda pair: pair[0]), today)


def _passed(item: Item, dated: list[tuple[date, Observation]], today: date) -> Iterator[Finding]:
    for day, o in dated:
        if o.source.reader in _UNTIL and day < today and certain(o, item):
            until = o.source.reader.replace("_", " ")
            says = f"The {until} date in the {named(o)}, {o.value}, has passed."
            yield _finding("stored_too_long", "question", says, "the box's own date", (o,))


def _old(item: Item, day: date, o: Observation, today: date) -> Iterator[Finding]:
    years = (today - day).days / _DAYS_A_YEAR
    need = item.requirement.explained
    keeps = _keeps(need)
    if keeps is not None and years > keeps.first_years:
        longer = keeps.extension_years
        more = f", with a further {longer:g} years after an inspection" if longer else ""
        says = (
            f"The {named(o)} is dated {o.value}, {years:.1f} years ago; "
            f"{_what(need)} keeps {keeps.first_years:g} years{more}."
        )
        yield _finding("stored_too_long", "question", says, keeps.row_name, (o,))
        return
    look = storage(NO_REMARK)
    if need.kind == "bearing" and _is_closed(need) and look is not None and years > look.first_years:
        says = f"The {named(o)} is dated {o.value}, {years:.1f} years ago: look whether its grease is still soft."
        yield _finding("stored_long", "note", says, look.row_name, (o,))


def _keeps(need: Explained) -> StorageRow | None:
    if need.kind in ("shaft_seal", "o_ring"):
        return (elastomer_storage(need.material) if need.material else None) or storage(_UNTOLD)
    if need.kind == "bearing":
        return storage(HOLD_ABOVE if _is_closed(need) else _OPEN)
    return None


def _is_closed(need: Explained) -> bool:
    return need.closure is not None and need.closure.kind != "open"


def _what(need: Explained) -> str:
    if need.kind == "bearing":
        return "a closed bearing with its grease" if _is_closed(need) else "an open bearing in its preserving oil"
    return f"{need.material} rubber" if need.material else "rubber that is not named"


def _quantities(item: Item) -> Iterator[Finding]:
    for o in observed(item, "quantity", BOX_CHANNELS):
        number = float(o.value)
        if not 0 < number <= MOST_PIECES:
            says = f"The {named(o)} states {number:g} pieces, which one package does not hold."
            yield _finding("quantity_odd", "question", says, "judgement", (o,))


def _finding(
    code: str,
    weight: str,
    says: str,
    rests_on: str,
    observations: tuple[Observation, ...],
) -> Finding:
    return Finding(
        code=code,
        weight="question" if weight == "question" else "note",
        question="asked_for",
        says=says,
        rests_on=rests_on,
        observations=tuple(o.key for o in observations),
    )
