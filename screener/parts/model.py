"""What a part is, by name: immutable attribute sets, independent of any maker's spelling."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["bearing", "shaft_seal", "o_ring", "retaining_ring"]
ClosureKind = Literal["open", "shield", "non_contact_seal", "low_friction_seal", "contact_seal"]
Clearance = Literal["C2", "CN", "C3", "C4", "C5"]


@dataclass(frozen=True, slots=True)
class Closure:
    """What closes a bearing, and on how many of its two sides. ``open`` goes with 0 sides."""

    kind: ClosureKind
    sides: Literal[0, 1, 2]


@dataclass(frozen=True, slots=True)
class Explained:
    """Everything a designation says. ``None`` means: the designation does not say."""

    input: str
    understood: bool
    kind: Kind | None = None
    family: str | None = None
    basic: str | None = None
    """The basic designation without suffixes (``6205``), or the size of a seal (``35x52x7``)."""
    bore_mm: float | None = None
    """Of a shaft seal: the shaft diameter."""
    od_mm: float | None = None
    """Of a shaft seal: the housing bore."""
    width_mm: float | None = None
    r_min_mm: float | None = None
    closure: Closure | None = None
    clearance: Clearance | None = None
    accuracy: str | None = None
    cage: str | None = None
    snap_ring: str | None = None
    tapered_bore: str | None = None
    material: str | None = None
    contact_angle_deg: float | None = None
    heat_stabilisation: str | None = None
    grease: str | None = None
    inner_design: str | None = None
    arrangement: str | None = None
    coating: str | None = None
    seal_type: str | None = None
    """Shaft seals: the type letters in the notation of ISO 6194-1 / DIN 3760 where known (``A``, ``AS`` …)."""
    standard_size: bool | None = None
    """Whether the size stands in the table of standard sizes."""
    mass_kg: float | None = None
    ambiguous: tuple[str, ...] = ()
    """Codes that different houses use for different things, each with its readings. Never resolved by guessing."""
    not_understood: tuple[str, ...] = ()
    suggestions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    flanged: bool = False
    """The outer ring has a flange."""
    clearance_code: str | None = None
    """A clearance marked in another system than C2 to C5 (``CM``, ``CC1``, ``MC3``), as it is marked."""
    spans: tuple[tuple[int, int], ...] = ()
    """Where the pieces in `not_understood` stand in `input` (start, end), as far as known."""
    undecided: tuple[str, ...] = ()
    """Attributes (by field name) that a code in `ambiguous` leaves open."""
    second_closure: Closure | None = None
    """Where the two sides differ (seal on one, shield on the other): ``closure`` is one side, this is the other."""


@dataclass(frozen=True, slots=True)
class Found:
    """A designation found inside a longer text."""

    start: int
    end: int
    text: str
    explained: Explained


@dataclass(frozen=True, slots=True)
class RankedReading:
    """One valid designation that a noisy reading may stand for."""

    designation: str
    """As it would be marked, from the characters read (closest standing spelling)."""
    cost: float
    """Weighted edit distance from the text read; look-alikes (O/0, S/5, Z/2, B/8, I/1, G/6) cost less than others."""
    explained: Explained


Outcome = Literal["same", "suits", "review", "wrong", "unknown"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One attribute of need and offer set side by side."""

    attribute: str
    need: str
    offered: str
    outcome: Outcome
    because: str
    rests_on: str
    """The rule (its id in the rules file) or table row this outcome rests on."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Attribute by attribute; ``outcome`` is the worst of the differences."""

    outcome: Outcome
    need: Explained
    offered: Explained
    differences: tuple[Difference, ...]
