"""Questions asked of an item's observations, and how a source is named in a sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.parts import explain
from screener.screening.model import EARLIER

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from screener.parts.model import Explained
    from screener.screening.model import Attribute, Channel, Item, Observation

CERTAIN_FROM_P = 0.85
"""A single reading below this speaks only as a question (judgement)."""

ON_CLOSURE = "text on the closure"
"""`Source.reader` of a mark that stands on a shield or seal: sister types share closures, so it is weaker."""

_ABOUT_PHOTOS: frozenset[Attribute] = frozenset({"seen_before", "problem"})

CHANNEL_WORDS: dict[Channel, str] = {
    "order": "order",
    "barcode": "barcode",
    "label": "printed label",
    "marking": "mark on the ring",
    "geometry": "photo measurement",
    "face": "face in the photo",
    "instrument": "reading",
    "person": "person",
    "photo": "photo",
}


def observed(item: Item, attribute: Attribute, channels: Iterable[Channel] | None = None) -> tuple[Observation, ...]:
    """Observations of one attribute, optionally only from some channels, in the order made."""
    wanted = None if channels is None else frozenset(channels)
    return tuple(
        o for o in item.observations if o.attribute == attribute and (wanted is None or o.source.channel in wanted)
    )


def own_photos(observations: Iterable[Observation]) -> dict[str, Observation]:
    """The photos taken of the item itself, by hash, each with the last observation made in it."""
    return {o.source.photo_sha256: o for o in observations if o.source.photo_sha256 and o.source.reader != EARLIER}


def photos_of(item: Item, hashes: Collection[str]) -> frozenset[str]:
    """Names of the item's photos with these contents; a picture given twice has two names."""
    return frozenset(o.source.where for o in item.observations if o.source.photo_sha256 in hashes) & {*item.photos}


def earlier_photos(item: Item) -> frozenset[str]:
    """Hashes of the item's photos whose picture came with an earlier delivery."""
    return frozenset(o.source.photo_sha256 for o in observed(item, "seen_before") if o.source.reader != EARLIER)


def of_this_piece(item: Item) -> Item:
    """The item without what was read only in pictures of an earlier item: that says nothing about this piece."""
    earlier = photos_of(item, earlier_photos(item))
    if not earlier:
        return item
    kept = (
        o for o in item.observations if o.attribute in _ABOUT_PHOTOS or not {o.source.where, *o.source.also} <= earlier
    )
    return replace(item, observations=tuple(kept))


def named(observation: Observation) -> str:
    """The source as a reader of the report would find it: ``mark on the ring (face1.jpg)``."""
    source = observation.source
    word = CHANNEL_WORDS[source.channel]
    if source.channel == "marking" and on_closure(observation):
        word = ON_CLOSURE
    photos = ", ".join((source.where, *source.also)) if source.where else ""
    return f"{word} ({photos})" if photos else word


def on_closure(observation: Observation) -> bool:
    """Whether a mark stands on the shield or seal rather than on the ring."""
    return observation.source.reader == ON_CLOSURE


def certain(observation: Observation, item: Item) -> bool:
    """Whether a reading may contradict the order by itself.

    A score is not a probability of truth: below `CERTAIN_FROM_P` a reading needs a second source that reads the same.
    """
    if observation.p is None or observation.p >= CERTAIN_FROM_P or observation.confirmed:
        return True
    same = [o for o in observed(item, observation.attribute) if o.key != observation.key and says_same(o, observation)]
    return any(o.source.where != observation.source.where for o in same)


def says_same(one: Observation, other: Observation) -> bool:
    """Whether two observations carry the same value, spelling of designations aside."""
    if one.attribute == "designation" and other.attribute == "designation":
        return attributes_key(explain(str(one.value))) == attributes_key(explain(str(other.value)))
    return one.value == other.value


def attributes_key(part: Explained) -> tuple[object, ...]:
    """What a designation says, in a form that compares equal across spellings."""
    if not part.understood:
        return (part.input,)
    return (part.kind, part.basic, part.bore_mm, part.od_mm, part.width_mm, part.closure, part.clearance, part.material)
