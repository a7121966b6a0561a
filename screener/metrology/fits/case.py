"""What the mechanic tells about one bearing and its two seats."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from screener.metrology.reading import Reading
from screener.specs.fit_tables import Load

Turning = Literal["inner", "outer", "undefined", "axial"]
TURNING: tuple[Turning, ...] = ("inner", "outer", "undefined", "axial")
CageKind = Literal["polyamide", "other"]


@dataclass(frozen=True, slots=True)
class SeatGiven:
    """One seat: its readings by cross section, and what it is made of."""

    sections: tuple[tuple[Reading, ...], ...] = ()
    """Readings of one cross section each; empty when it was not measured."""
    material: str = "steel"
    surface: str = "ground"
    wall_mm: float | None = None
    """Hollow shaft: its bore. Housing: its outside diameter near the seat. None: solid shaft, thick housing."""
    zone: str | None = None
    """The class the machine's drawing asks for; replaces what lists recommend."""

    @property
    def values_mm(self) -> list[float]:
        """All readings, of every cross section."""
        return [each.value_mm for section in self.sections for each in section]


@dataclass(frozen=True, slots=True)
class Temperatures:
    """Running temperatures in °C; None: not known."""

    inner_c: float | None = None
    outer_c: float | None = None
    shaft_c: float | None = None
    """None: that of the inner ring."""
    housing_c: float | None = None
    """None: that of the outer ring."""


@dataclass(frozen=True, slots=True)
class BearingCase:
    """One bearing about to be pressed."""

    designation: str
    """As told; what it says of closure, cage, clearance and class is read from it. Unmarked clearance is CN."""
    shaft: SeatGiven = field(default_factory=SeatGiven)
    housing: SeatGiven = field(default_factory=SeatGiven)
    bore: tuple[Reading, ...] = ()
    """Readings of the bearing's own bore; the standard's limits stand in when there are none."""
    od: tuple[Reading, ...] = ()
    turning: Turning | None = None
    """Which ring turns relative to the load; None: not told."""
    load: Load | None = None
    load_share: float | None = None
    """P/C; instead of ``load``."""
    running: Temperatures = field(default_factory=Temperatures)
    room_c: float = 20.0
    """Of the parts while they are fitted."""
    friction: str = "oiled"
    radial_load_n: float | None = None
    rpm: float | None = None


@dataclass(frozen=True, slots=True)
class SealCaseGiven:
    """One shaft seal about to be pressed."""

    designation: str
    shaft: SeatGiven = field(default_factory=SeatGiven)
    housing: SeatGiven = field(default_factory=SeatGiven)
    rpm: float | None = None
    keep: Literal["in", "out"] | None = None
    """What the seal is mainly for: keep the medium in or dirt out."""
    material: str | None = None
    """ISO 1629 name; None: from the designation."""
    hardness_hrc: float | None = None
    roughness_ra_um: float | None = None
