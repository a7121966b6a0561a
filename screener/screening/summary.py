"""One sentence on what was looked at and agrees, for an item with which nothing is wrong."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from screener.parts import explain
from screener.screening.checks.coverage import both_faces_seen
from screener.screening.observed import observed, on_closure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.screening.model import Attribute, Channel, Item, NotChecked

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


def what_agrees(item: Item, gaps: Sequence[NotChecked] = ()) -> str:
    """Name the sources that were compared with the order and agree with it; ``gaps`` are those that were not."""
    untold = {gap.code for gap in gaps}
    said = [part for part in (_named(item), _faces(item), _size(item), _readings(item, untold)) if part]
    if not said:
        return "Nothing that was checked disagrees."
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def joined(words: Sequence[str]) -> str:
    """Words as a list in a sentence: ``a``, ``a and b``, ``a, b and c``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _named(item: Item) -> str:
    """What each source reads, in its own words: ``label and barcode read 6205-2RS C3, mark on the part reads 6205``."""
    by_value: dict[str, tuple[str, list[str]]] = {}
    for channel, word in _NAMES:
        text = _surest(item, channel)
        if text is not None:
            by_value.setdefault(re.sub(r"[^0-9A-Z]", "", text.upper()), (text, []))[1].append(word)
    return ", ".join(
        f"{joined(words)} {'reads' if len(words) == 1 else 'read'} {text}" for text, words in by_value.values()
    )


def _surest(item: Item, channel: Channel) -> str | None:
    read = [o for o in observed(item, "designation", (channel,)) if explain(str(o.value)).understood]
    of_the_part = [o for o in read if not on_closure(o)]
    return str(max(of_the_part, key=lambda o: o.p if o.p is not None else 1.0).value) if of_the_part else None


def _faces(item: Item) -> str:
    seen = [o for o in observed(item, "closure", ("face",)) if str(o.value) in _FACES]
    words = list(dict.fromkeys(_FACES[str(o.value)] for o in seen))
    if not words:
        return ""
    return f"{'both faces show' if both_faces_seen(item) else 'the face seen shows'} {joined(words)}"


def _size(item: Item) -> str:
    for attribute, unit in _MEASURES:
        measured = [o for o in observed(item, attribute, ("geometry",)) if o.u is not None]
        if measured:
            best = min(measured, key=lambda o: o.u or 0.0)
            digits = 1 if attribute == "od_mm" else 3
            return f"the photo measures {float(best.value):.{digits}f}{unit}, as it should"
    return ""


def _readings(item: Item, untold: set[str]) -> str:
    made = [(attribute, word) for attribute, word in _READINGS if observed(item, attribute, ("instrument",))]
    read = [word for attribute, word in made if attribute not in untold]
    return f"{joined(read)} as measured {'fits' if len(read) == 1 else 'fit'}" if read else ""
