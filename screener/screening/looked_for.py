"""Which indicators would have been seen on an item had they been there.

Only these speak by their absence, and only about these does a confirmed outcome teach: "not seen" is not "not there"
where nobody looked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.readings import signs_to_be_seen
from screener.screening.checks.reference import ALIKE, NOT_COMPARED
from screener.screening.model import BOX_CHANNELS
from screener.screening.observed import CERTAIN_FROM_P, observed
from screener.specs.makers import match_maker

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.screening.model import Attribute, Channel, Item, Observation
    from screener.specs.makers import Maker
    from screener.specs.screening_rules import Indicator

_NEEDS: tuple[tuple[str, tuple[tuple[Attribute, Channel], ...]], ...] = (
    ("LB2", (("designation", "label"), ("designation", "barcode"))),
    ("LB3", (("gtin", "barcode"),)),
    ("LB8", (("date", "label"),)),
    ("LB8", (("date", "barcode"),)),
    ("SN5", (("batch", "label"), ("batch", "marking"))),
)
"""Indicator, and what must have been read for sure for it to be seen."""
_ANY_CHANNEL: tuple[tuple[str, Attribute], ...] = (("SN1", "serial"), ("SN2", "serial"))


def looked_for(item: Item, indicators: Mapping[str, Indicator]) -> tuple[str, ...]:
    """Return the indicators that would have been seen on this item, in the order of the file."""
    groups = groups_by_person(item)
    found = {name for name, needs in _NEEDS if all(_surely(item, *need) for need in needs)}
    found |= {name for name, attribute in _ANY_CHANNEL if observed(item, attribute)}
    found |= _by_maker(item) | signs_to_be_seen(item) | _beside_reference(item)
    return tuple(name for name, each in indicators.items() if name in found or each.group in groups)


def groups_by_person(item: Item) -> tuple[str, ...]:
    """Return the groups that a person says to have looked through."""
    return tuple(dict.fromkeys(str(o.value) for o in observed(item, "looked")))


def _surely(item: Item, attribute: Attribute, channel: Channel) -> bool:
    return any(_sure(o) for o in observed(item, attribute, (channel,)))


def _sure(observation: Observation) -> bool:
    return observation.p is None or observation.p >= CERTAIN_FROM_P or observation.confirmed


def _by_maker(item: Item) -> set[str]:
    """What can only be seen where the makers file says how this maker does it."""
    known = _known_makers(item, BOX_CHANNELS)
    found = {"PK1"} if _known_makers(item, ("label",), sure=True) else set()
    found |= {"MK2"} if _known_makers(item, BOX_CHANNELS) and _known_makers(item, ("marking",)) else set()
    habits = any(maker.suffix_habits for maker in known)
    found |= {"MK7"} if habits and _surely(item, "designation", "marking") else set()
    found |= {"LB1"} if any(maker.label_always for maker in known) else set()
    found |= {"LB4"} if observed(item, "gtin") and any(maker.gtin_prefixes for maker in known) else set()
    return found | ({"LB10"} if observed(item, "country") and any(maker.countries for maker in known) else set())


def _beside_reference(item: Item) -> set[str]:
    """What a comparison with the shop's reference would have shown; not what it could not judge."""
    notes = observed(item, "reference")
    gaps = {str(o.value).partition(":")[0] for o in notes if o.source.reader == NOT_COMPARED}
    compared = [o for o in notes if o.source.reader != NOT_COMPARED]
    boxes = {o.source.where for o in compared if o.source.channel == "label"}
    found = {"MK6"} if any(o.source.channel == "marking" for o in compared) else set()
    found |= {"PK4"} if boxes else set()
    found |= {"PK3"} if boxes and not gaps & {"print", "colour"} else set()
    # A box that looks as its reference and carries a code: the reference carries one too.
    alike = {o.source.where for o in compared if o.source.reader == ALIKE} & boxes
    coded = {o.source.where for o in item.observations if o.source.channel == "barcode"}
    return found | ({"LB6"} if alike & coded else set())


def _known_makers(item: Item, channels: Iterable[Channel], *, sure: bool = False) -> list[Maker]:
    words = [o for o in observed(item, "maker", channels) if not sure or _sure(o)]
    return [match.maker for o in words if (match := match_maker(str(o.value))) is not None]
