"""Serials and photos that turn up twice."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import EARLIER, Finding
from screener.screening.observed import named, observed, own_photos
from screener.specs.screening_rules import finding_kinds

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings

EARLIER_PICTURE = "photo_seen_before"
"""Code of the finding that a picture came with an earlier delivery."""


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Find serials of this item, and photos of this item, that belong to another one too."""
    findings = (*_serials(item, surroundings), *_photos(item, surroundings), *_seen_before(item))
    return Checked(findings=findings, agreed=_received(item, surroundings))


def _received(item: Item, surroundings: Surroundings) -> tuple[str, ...]:
    own = {str(o.value) for o in observed(item, "serial")}
    return tuple(f"Serial {s} was received {where}." for s, where in surroundings.serials_received if s in own)


def _serials(item: Item, surroundings: Surroundings) -> list[Finding]:
    own = {str(o.value): o for o in observed(item, "serial")}
    return [
        _serial_finding(own[serial], where, in_hand=in_hand)
        for serial, where, in_hand in (
            *((s, w, True) for s, w in surroundings.serials_elsewhere),
            *((s, w, False) for s, w in surroundings.serials_before),
        )
        if serial in own
    ]


def _serial_finding(observation: Observation, where: str, *, in_hand: bool) -> Finding:
    read = f"Serial {observation.value} ({named(observation)})"
    rests_on = "a serial is given to one unit only (GS1 General Specifications, AI 21; ISO 22378)"
    if in_hand:
        return suspicious("serial_twice", f"{read} is also on {where}.", rests_on, observation)
    return suspicious("serial_seen_before", f"{read} was received before: {where}.", rests_on, observation)


def _photos(item: Item, surroundings: Surroundings) -> list[Finding]:
    hashes = own_photos(item.observations)
    return [
        Finding(
            code="photo_used_twice",
            weight="question",
            question="agreement",
            says=f"The photo {hashes[sha].source.where} was also given for {where}.",
            rests_on="one photo shows one item",
            observations=(hashes[sha].key,),
        )
        for sha, where in surroundings.photos_elsewhere
        if sha in hashes
    ]


def _seen_before(item: Item) -> list[Finding]:
    """One finding for each earlier item, with its photos and ours."""
    by_item: dict[str, list[Observation]] = {}
    for each in observed(item, "seen_before"):
        by_item.setdefault(str(each.value), []).append(each)
    rests_on = "one photo shows one item; a picture used again says little about the part (judgement)"
    found = [
        suspicious(EARLIER_PICTURE, _seen_says(where, [o for o in seen if o.source.reader != EARLIER]), rests_on, *seen)
        for where, seen in by_item.items()
    ]
    return [replace(each, next_step=finding_kinds()[EARLIER_PICTURE].settle) for each in found]


def _seen_says(where: str, mine: list[Observation]) -> str:
    photos = ", ".join(o.source.where for o in mine)
    were = "The photo {} was" if len(mine) == 1 else "The photos {} were"
    there = ", ".join(dict.fromkeys(name for o in mine for name in o.source.also))
    how = " or ".join(dict.fromkeys(o.source.reader for o in mine))
    return f"{were.format(photos)} received before: {where}, as {there} ({how})."
