"""Batches, dates and countries held against each other: box against part, and one unit against its delivery."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import BOX_CHANNELS
from screener.screening.observed import CERTAIN_FROM_P, named, observed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.screening.model import Attribute, Finding, Item, Observation, Surroundings

A_QUARTER = timedelta(days=92)
"""A ring may be marked with the coming year's code in the last quarter (GOST 520-2011, 10.1)."""
SMALL_LOT = 20
MANY_BATCHES = 3
"""From here on, and in more than half of the units, batches of a small lot are mixed (judgement)."""


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare batch, date and country of box and part, and the batches of the units that came together."""
    findings = (*_batches(item), *_packed_before_made(item), *_countries(item), *_mixed(item, surroundings))
    return Checked(findings=findings)


def _batches(item: Item) -> Iterator[Finding]:
    for box, part in _pairs(item, "batch"):
        if _plain(box) != _plain(part):
            says = f"Batch {box.value} ({named(box)}) differs from {part.value} ({named(part)})."
            yield suspicious("batches_differ", says, "box and part codes often follow different schemes", box, part)
        return


def _packed_before_made(item: Item) -> Iterator[Finding]:
    for box, part in _pairs(item, "date"):
        packed, made = _day(box), _day(part)
        if packed and made and packed + A_QUARTER < made and box.source.reader != "best_before":
            says = f"Packed {packed} ({named(box)}), more than a quarter before it was made: {made} ({named(part)})."
            yield suspicious(
                "date_impossible", says, "a part is packed after it is made; GOST 520-2011, 10.1", box, part
            )
            return


def _countries(item: Item) -> Iterator[Finding]:
    for box, part in _pairs(item, "country"):
        if str(box.value).casefold() != str(part.value).casefold():
            says = f"The {named(box)} says {box.value}, the {named(part)} says {part.value}."
            rests_on = (
                "packed elsewhere is common; a country may stand on box or closure only (GOST 520-2011, 10.3, 10.4)"
            )
            yield suspicious("countries_differ", says, rests_on, box, part)
        return


def _mixed(item: Item, surroundings: Surroundings) -> Iterator[Finding]:
    own = next(iter(observed(item, "batch", BOX_CHANNELS)), None)
    if own is None:
        return
    all_units = [str(own.value), *(batch for batch, _ in surroundings.batches_elsewhere)]
    kinds = len(set(all_units))
    if len(all_units) <= SMALL_LOT and kinds >= MANY_BATCHES and 2 * kinds > len(all_units):
        says = f"{kinds} batches among {len(all_units)} units of this part in one delivery."
        yield suspicious("batches_mixed", says, "one small lot mostly comes from one or two batches (judgement)", own)


def _pairs(item: Item, attribute: Attribute) -> list[tuple[Observation, Observation]]:
    """What box and part say, read for sure."""
    box, part = (
        [o for o in observed(item, attribute, channels) if o.p is None or o.p >= CERTAIN_FROM_P]
        for channels in (BOX_CHANNELS, ("marking",))
    )
    return [(b, p) for b in box for p in part]


def _plain(observation: Observation) -> str:
    return "".join(sign for sign in str(observation.value).upper() if sign.isalnum())


def _day(observation: Observation) -> date | None:
    try:
        return date.fromisoformat(str(observation.value))
    except ValueError:
        return None
