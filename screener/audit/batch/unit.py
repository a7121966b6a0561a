"""One unit of a batch as the comparison sees it: numbers with uncertainty, words, identities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Block = Literal["size and mass", "marks", "label", "label colours"]
BLOCKS: tuple[Block, ...] = ("size and mass", "marks", "label", "label colours")
"""What one process settles together: how big and heavy, how marked, how labelled, in which colours."""

COLOURED = {
    "print": "printed areas of the label",
    "ink": "ink of the label",
    "paper": "paper of the label by the scale card",
    "print_by_card": "printed areas of the label by the scale card",
}
"""What of a label has a colour (`colour_feature`)."""
AXES = {"green_red": "green to red (CIELAB a*)", "blue_yellow": "blue to yellow (b*)", "lightness": "lightness (L*)"}
"""Of CIELAB, those first that the light of a photo moves least."""

_NAMES = {
    "bore_mm": ("bore", "mm"),
    "od_mm": ("outside diameter", "mm"),
    "width_mm": ("width", "mm"),
    "mass_g": ("mass", "g"),
    "photo.bore_to_od": ("bore to outside diameter in the photo", ""),
    "photo.od_mm": ("outside diameter in the photo", "mm"),
    "photo.bore_mm": ("bore in the photo", "mm"),
    "mark.radius": ("where the marks stand (share of the outer radius)", ""),
    "mark.height": ("height of the marks (share of the outer radius)", ""),
    "mark.pitch": ("room for each letter of the marks (share of the outer radius)", ""),
}


_STAR = {"green_red": "a*", "blue_yellow": "b*", "lightness": "L*"}
_SHORT = {
    "photo.bore_to_od": "bore to outside, photo",
    "photo.od_mm": "outside diameter, photo",
    "photo.bore_mm": "bore, photo",
    "mark.pitch": "room for each letter",
}


@dataclass(frozen=True, slots=True)
class Number:
    """A number with its standard uncertainty (k = 1) in the same unit; ``u`` is None where nobody gave one."""

    value: float
    u: float | None = None


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a unit."""

    sha256: str
    name: str


@dataclass(frozen=True, slots=True)
class Unit:
    """One recorded item, ready to be compared."""

    record: int
    """Its number in the record."""
    run: int
    key: str
    """Its key in the run: the order line, or line and box."""
    group: str
    """What it is compared with: units that were ordered as the same."""
    line: str = ""
    """The order line it came with; several boxes of one line are units of their own."""
    ordered_pieces: int | None = None
    """Pieces of that line, where the order says how many."""
    supplier: str = ""
    recorded_at: str = ""
    disposition: str = "hold"
    exit: str = "look again"
    suspicion: str = "none"
    reason: str = ""
    next_step: str = ""
    need: str = ""
    numbers: Mapping[str, Number] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    serials: tuple[tuple[str, str], ...] = ()
    """(serial, what it is unique in)."""
    photos: tuple[Photo, ...] = ()
    findings: tuple[tuple[str, str, str], ...] = ()
    """(code, weight, sentence) of each finding of the screening."""
    not_checked: tuple[str, ...] = ()
    looked_at: bool = True
    """False: neither a photo nor a reading of it; it counts for no sample."""
    no_colours: str = ""
    """Why no colour of its label is told, where a label was seen."""
    decided: str = ""
    """What people said of it that stands: ``released by Ola: measured again``."""
    outcome: str = ""
    """What it turned out to be, where somebody has said so: ``conforming`` or ``nonconforming``."""
    own_answer: str = ""
    """What the screening itself says, where a person's word goes over it: ``SEND BACK, another size.``"""

    @property
    def way(self) -> str:
        """What is done with it; one that is kept, and confirmed as nonconforming, is no longer asked about."""
        if self.outcome == "nonconforming" and self.exit == "keep and ask":
            return "keep and claim"
        return self.exit or self.disposition


def unit_says(unit: Unit) -> str:
    """Return the number a person finds a unit by: the order's, and the record's where that is another."""
    return unit.key if unit.key == str(unit.record) else f"{unit.key} (record {unit.record})"


def is_settled(unit: Unit) -> bool:
    """Return whether a person has said what it turned out to be, or released it: no question about it is open."""
    return bool(unit.outcome) or (bool(unit.decided) and unit.disposition == "accept")


def colour_feature(what: str, axis: str) -> str:
    """Return the name of one of the three numbers of a colour."""
    return f"colour.{what}.{axis}"


def is_share(feature: str) -> bool:
    """Whether a number varies as a share of itself where it is positive; a colour's zero is just grey."""
    return not feature.startswith("colour.")


def block_of(feature: str) -> Block:
    """Return the block that a number belongs to."""
    if feature.startswith("colour."):
        return "label colours"
    if feature.startswith("mark."):
        return "marks"
    return "label" if feature.startswith("label.") else "size and mass"


def feature_says(feature: str) -> str:
    """Return a number's name for a person."""
    if feature in _NAMES:
        return _NAMES[feature][0]
    if feature.startswith("colour."):
        _, coloured, axis = feature.split(".")
        return f"{COLOURED[coloured]}, {AXES[axis]}"
    where, _, what = feature.partition(".")
    return f"{where}: {what.replace('_', ' ')}" if what else feature.replace("_", " ")


def feature_short(feature: str) -> str:
    """Return a number's name where room is short, beside a plot; the whole one stands in the table of numbers."""
    if feature.startswith("colour."):
        _, coloured, axis = feature.split(".")
        what = coloured.replace("_", " ").replace("print", "label print" if "card" not in coloured else "print")
        return f"{what if 'print' in what else f'label {what}'}, {_STAR[axis]}"
    return _SHORT.get(feature) or feature_says(feature).partition(" (")[0]


def unit_of_measure(feature: str) -> str:
    """Return a number's unit, or nothing for a ratio."""
    return _NAMES.get(feature, ("", ""))[1]


def number_says(feature: str, value: float) -> str:
    """Return a value with its unit, to four significant digits, lengths to a hundredth of a millimetre."""
    unit = unit_of_measure(feature)
    text = f"{value:.3f}" if unit == "mm" else f"{value:.4g}"
    if feature.startswith("colour."):
        text = f"{value:.1f}"
    return f"{text} {unit}".strip()
