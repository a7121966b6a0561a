"""One sentence on what was looked at and agrees, for an item with which nothing is wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.parts import explain
from screener.screening.observed import observed, on_closure

if TYPE_CHECKING:
    from screener.screening.model import Attribute, Channel, Item

_NAMES: tuple[tuple[Channel, str], ...] = (
    ("label", "label"),
    ("barcode", "barcode"),
    ("marking", "mark on the part"),
    ("person", "reading by eye"),
)
_FACES = {"open": "an open bearing", "shield": "a metal shield", "rubber_seal": "a rubber seal"}

_MEASURES: tuple[tuple[Attribute, str], ...] = (("od_mm", " mm outside"), ("bore_to_od", " bore to outside"))
_READINGS: tuple[tuple[Attribute, str], ...] = (
    ("bore_mm", "bore"),
    ("od_mm", "outside diameter"),
    ("width_mm", "width"),
    ("mass_g", "mass"),
)


def what_agrees(item: Item) -> str:
    """Name the sources that were compared with the order and agree with it."""
    said = [part for part in (_named(item), _faces(item), _size(item), _readings(item)) if part]
    if not said:
        return "Nothing that was checked disagrees."
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def joined(words: list[str]) -> str:
    """Words as a list in a sentence: ``a``, ``a and b``, ``a, b and c``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _named(item: Item) -> str:
    read = [o for o in observed(item, "designation") if explain(str(o.value)).understood and not on_closure(o)]
    channels = {o.source.channel for o in read}
    words = [word for channel, word in _NAMES if channel in channels]
    if not words:
        return ""
    verb = "says" if len(words) == 1 else "say"
    return f"{joined(words)} {verb} {item.requirement.need}"


def _faces(item: Item) -> str:
    seen = [o for o in observed(item, "closure", ("face",)) if str(o.value) in _FACES]
    words = list(dict.fromkeys(_FACES[str(o.value)] for o in seen))
    if not words:
        return ""
    both = {"first", "second"} <= {o.face for o in seen}
    return f"{'both faces show' if both else 'the face seen shows'} {joined(words)}"


def _size(item: Item) -> str:
    for attribute, unit in _MEASURES:
        measured = [o for o in observed(item, attribute, ("geometry",)) if o.u is not None]
        if measured:
            best = min(measured, key=lambda o: o.u or 0.0)
            digits = 1 if attribute == "od_mm" else 3
            return f"the photo measures {float(best.value):.{digits}f}{unit}, as it should"
    return ""


def _readings(item: Item) -> str:
    read = [word for attribute, word in _READINGS if observed(item, attribute, ("instrument",))]
    return f"{joined(read)} as measured {'fits' if len(read) == 1 else 'fit'}" if read else ""
