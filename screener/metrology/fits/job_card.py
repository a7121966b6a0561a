"""A job card: what is assembled, in order along the shaft, with seats and readings. A TOML file a person writes.

::

    schema = "screener.job/1"
    title = "Output shaft"
    manual = "sheet 12 of the machine's manual"   # may be left out, like all that follows but the parts
    room_c = 20

    [[part]]                       # in order along the shaft, from the left
    name = "drive end"
    kind = "bearing"               # bearing, shaft_seal, retaining_ring, spacer, o_ring, other
    designation = "6205-2RS C3"
    gap_before_mm = 3              # free space on the shaft before this part
    turning = "inner"              # which ring turns relative to the load
    load = "normal"
    photos = ["drive_end.jpg"]     # beside the card; the part is verified by them

    [part.shaft]
    readings_mm = [[25.009, 25.011], [25.008, 25.009]]    # one list a cross section
    instrument = "micrometer"
    material = "steel"

    [part.housing]
    readings_mm = [[52.012]]
    wall_mm = 70                   # outside of a thin housing; for a shaft: the bore of a hollow one

    [[part]]
    name = "spacer"
    kind = "spacer"
    inner_mm = 25
    outer_mm = 32
    width_mm = 10
    on_step = false                # true: on a step of its own, not on the diameter of the seats beside it

    [[companion]]
    says = "Grease: 12 g as the manual asks"
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config

from screener.errors import InputUnreadable, WrongUsage
from screener.metrology.fits.case import Turning
from screener.specs.fit_tables import Load, Seat

SCHEMA = "screener.job/1"
PartKind = Literal["bearing", "shaft_seal", "retaining_ring", "spacer", "o_ring", "other"]
_STRICT = ConfigDict(extra="forbid")


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class CardSeat:
    """One seat as the card tells it."""

    readings_mm: tuple[tuple[float, ...], ...] = ()
    instrument: str | None = None
    """None: micrometer for a shaft, bore gauge for a housing."""
    temperature_c: float | None = None
    material: str = "steel"
    surface: str = "ground"
    wall_mm: float | None = None
    zone: str | None = None


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class CardPart:
    """One part of the stack."""

    name: str
    kind: PartKind
    designation: str = ""
    gap_before_mm: float = 0.0
    inner_mm: float | None = None
    outer_mm: float | None = None
    width_mm: float | None = None
    on_step: bool = False
    """Of a ring or spacer: it sits on a step of its own, not on the diameter of the seats beside it."""
    turning: Turning | None = None
    load: Load | None = None
    load_share: float | None = None
    radial_load_n: float | None = None
    rpm: float | None = None
    friction: str = "oiled"
    inner_c: float | None = None
    outer_c: float | None = None
    shaft_c: float | None = None
    housing_c: float | None = None
    keep: Literal["in", "out"] | None = None
    lip_material: str | None = None
    hardness_hrc: float | None = None
    ra_um: float | None = None
    bore_readings_mm: tuple[float, ...] = ()
    od_readings_mm: tuple[float, ...] = ()
    shaft: CardSeat = field(default_factory=CardSeat)
    housing: CardSeat = field(default_factory=CardSeat)
    photos: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    """Ids of companions that are ticked."""


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class CardCompanion:
    """A line of the check list that the card itself adds."""

    says: str
    done: bool = False


@with_config(_STRICT)
@dataclass(frozen=True, slots=True)
class JobCard:
    """The whole card."""

    title: str
    part: tuple[CardPart, ...]
    schema: Literal["screener.job/1"] = "screener.job/1"
    manual: str = ""
    note: str = ""
    room_c: float = 20.0
    companion: tuple[CardCompanion, ...] = ()


def read_card(content: Mapping[str, Any], where: str) -> JobCard:
    """Return the card in a TOML document.

    Parameters
    ----------
    content
        The document, parsed.
    where
        Name of the file, for messages.

    Raises
    ------
    InputUnreadable
        A field is missing, not known or of the wrong kind; two parts have one name; there is none.
    """
    try:
        card = TypeAdapter(JobCard).validate_python(dict(content))
    except ValidationError as fault:
        first = fault.errors()[0]
        raise _broken(where, f"“{_place(first['loc'])}”: {first['msg']}.") from None
    names = [part.name.strip() for part in card.part]
    if not names or not all(names) or len(set(names)) < len(names):
        raise _broken(where, "Each [[part]] needs a name of its own, and there must be one part at least.")
    return card


def read_part(part: CardPart) -> CardPart:
    """Return a part whose fields were set by hand, checked as those of a file are.

    Raises
    ------
    InputUnreadable
        A field of the wrong kind.
    """
    adapter = TypeAdapter(CardPart)
    try:
        return adapter.validate_python(adapter.dump_python(part, warnings=False))
    except ValidationError as fault:
        first = fault.errors()[0]
        raise _broken(f"part “{part.name}”", f"“{_place(first['loc'])}”: {first['msg']}.") from None


def card_of_text(text: str, where: str) -> JobCard:
    """Return the card that a TOML text holds.

    Raises
    ------
    InputUnreadable
        It is no TOML, or a field does not belong.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise _broken(where, f"The card cannot be read ({fault}).") from None
    return read_card(content, where)


def _place(steps: tuple[int | str, ...]) -> str:
    # Counted from one, as a person counts the [[part]] headings.
    return ".".join(str(step + 1) if isinstance(step, int) else step for step in steps)


def _broken(where: str, says: str) -> InputUnreadable:
    return InputUnreadable(
        says, where=where, next_step="Correct the card; `screener job --example` prints one.", code="job_card"
    )


def find_part(card: JobCard, name: str) -> CardPart:
    """Return the part of a name.

    Raises
    ------
    WrongUsage
        There is none.
    """
    found = next((part for part in card.part if part.name.lower() == name.strip().lower()), None)
    if found is None:
        known = ", ".join(part.name for part in card.part)
        raise WrongUsage(f"The card has no part “{name}”.", where="card", next_step=f"Its parts: {known}.", code="part")
    return found


def with_part(card: JobCard, changed: CardPart) -> JobCard:
    """Return the card with the part of that name replaced."""
    return replace(card, part=tuple(changed if each.name == changed.name else each for each in card.part))


def with_reading(card: JobCard, name: str, seat: Seat, values_mm: tuple[float, ...]) -> JobCard:
    """Return the card with one more cross section of readings on a part's seat."""
    part = find_part(card, name)
    if seat == "shaft":
        shaft = replace(part.shaft, readings_mm=(*part.shaft.readings_mm, values_mm))
        return with_part(card, replace(part, shaft=shaft))
    housing = replace(part.housing, readings_mm=(*part.housing.readings_mm, values_mm))
    return with_part(card, replace(part, housing=housing))


@dataclass(frozen=True, slots=True)
class Ask:
    """A reading the card still lacks."""

    part: str
    seat: Seat
    says: str


def missing_readings(card: JobCard) -> tuple[Ask, ...]:
    """Return the seats of bearings and seals that have no reading yet, in order."""
    asks: list[Ask] = []
    for part in card.part:
        if part.kind in {"bearing", "shaft_seal"}:
            seats: tuple[tuple[Seat, CardSeat], ...] = (("shaft", part.shaft), ("housing", part.housing))
            asks += [
                Ask(part.name, seat, f"{part.name} ({part.designation}): {seat} diameter, mm")
                for seat, given in seats
                if not any(given.readings_mm)
            ]
    return tuple(asks)
