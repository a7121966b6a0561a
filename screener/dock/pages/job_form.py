"""The fields of one part of a job, and the card changed by what was typed into them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from screener.dock.pages.desk import number_in
from screener.metrology.fits.job_card import CardPart, CardSeat, JobCard, read_part, with_part
from screener.metrology.length_text import lengths_mm

if TYPE_CHECKING:
    from collections.abc import Mapping

SEATS = ("shaft", "housing")
USUAL = {"shaft": "micrometer", "housing": "bore gauge"}
NUMBERS = {
    "inner_c": "Inner ring when running, °C",
    "outer_c": "Outer ring when running, °C",
    "rpm": "Speed, rpm",
    "hardness_hrc": "Shaft track, HRC",
    "ra_um": "Shaft track, Ra in µm",
}
OF_KIND = {"bearing": ("inner_c", "outer_c", "rpm"), "shaft_seal": ("rpm", "hardness_hrc", "ra_um")}
_WORDS = {"bearing": ("turning", "load"), "shaft_seal": ("keep", "lip_material")}


def typed(part: CardPart) -> dict[str, str]:
    """Return what stands in the fields of a part."""
    told = {}
    for name in SEATS:
        seat: CardSeat = getattr(part, name)
        for place, section in zip(("", "_2"), seat.readings_mm, strict=False):
            told[name + place] = " ".join(f"{value:.4f}".removesuffix("0") for value in section)
        told[f"{name}_instrument"] = seat.instrument or USUAL[name]
    for name in (*NUMBERS, "turning", "load", "keep", "lip_material"):
        value = getattr(part, name)
        if value is not None:
            told[name] = value if isinstance(value, str) else f"{value:g}"
    return told


def changed(card: JobCard, part: CardPart, told: Mapping[str, str]) -> JobCard:
    """Return the card with a part as the form tells it; what the form does not ask stays as the card has it.

    Raises
    ------
    ScreenerError
        A number or a word that is none.
    """
    asked: dict[str, Any] = {name: _seat(getattr(part, name), name, told) for name in SEATS}
    asked |= {name: told.get(name, "").strip() or None for name in _WORDS.get(part.kind, ())}
    if asked.get("load") is not None:
        asked["load_share"] = None  # both would be two answers to one question
    for name in OF_KIND.get(part.kind, ()):
        asked[name] = number_in(told.get(name, ""), NUMBERS[name])
    return with_part(card, read_part(replace(part, **asked)))


def _seat(seat: CardSeat, name: str, told: Mapping[str, str]) -> CardSeat:
    places = [lengths_mm(told.get(name + place, ""), f"{name} reading") for place in ("", "_2")]
    # The form shows two places; further ones of the card stay.
    sections = (*(each for each in places if each), *seat.readings_mm[2:])
    return replace(seat, readings_mm=sections, instrument=told.get(f"{name}_instrument", "").strip() or seat.instrument)


def missing(part: CardPart) -> tuple[str, ...]:
    """Return the readings that a part still lacks."""
    if part.kind not in OF_KIND:
        return ()
    return tuple(name for name in SEATS if not any(getattr(part, name).readings_mm))
