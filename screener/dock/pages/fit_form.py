"""The fit page's form as a part of a job card: one part, told in plain fields."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screener.dock.pages.desk import not_understood, number_in
from screener.metrology.fits.job import walk
from screener.metrology.fits.job_card import read_card
from screener.metrology.length_text import lengths_mm
from screener.parts import explain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.metrology.fits.job import JobWalked
    from screener.parts.model import Explained

TURNING = (
    ("inner", "The shaft turns, the load stays where it is (belt, gear, weight)"),
    ("outer", "The housing or wheel turns, the load stays where it is"),
    ("undefined", "The direction of the load changes, or nobody knows"),
    ("axial", "The load is along the shaft only"),
)
LOADS = (("light", "light"), ("normal", "normal"), ("heavy", "heavy"), ("shock", "shocks"))
KEEP = (("in", "oil or grease in"), ("out", "dirt or water out"))
_NUMBERS = {
    "load_share": "load_share",
    "radial_load_n": "radial_load",
    "rpm": "rpm",
    "inner_c": "inner_c",
    "outer_c": "outer_c",
    "shaft_c": "shaft_c",
    "housing_c": "housing_c",
    "hardness_hrc": "hardness",
    "ra_um": "ra",
}
"""Field of a job card's part, field of the form."""
_WORDS = ("turning", "load", "keep", "lip_material", "friction")


def samples(designation: str) -> dict[str, str]:
    """Return how readings of the two seats are written: of this part where its size is known."""
    meant = explain(designation)
    shaft_mm, housing_mm = (meant.bore_mm, meant.od_mm) if meant.understood else (None, None)
    return {"shaft": _sample(shaft_mm or 25.0, 0.009), "housing": _sample(housing_mm or 52.0, 0.012)}


def _sample(nominal_mm: float, off_mm: float) -> str:
    return f"{nominal_mm + off_mm:.3f} {nominal_mm + off_mm + 0.002:.3f}"


def job_of(told: Mapping[str, str], done: tuple[str, ...] = ()) -> JobWalked:
    """Judge the one part that the form tells.

    Raises
    ------
    ScreenerError
        The designation is not understood, or a number makes no sense.
    """
    designation = told.get("designation", "").strip()
    meant = explain(designation)
    if not meant.understood:
        raise not_understood(meant)
    title = told.get("title", "").strip() or f"Fitting {designation}"
    card: dict[str, Any] = {"title": title, "part": [_part(told, meant, done)]}
    if told.get("room_c", "").strip():
        card["room_c"] = number_in(told["room_c"], "room temperature")
    return walk(read_card(card, "form"))


def _part(told: Mapping[str, str], meant: Explained, done: tuple[str, ...]) -> dict[str, Any]:
    part: dict[str, Any] = {
        "name": "seal" if meant.kind == "shaft_seal" else "bearing",
        "kind": "shaft_seal" if meant.kind == "shaft_seal" else "bearing",
        "designation": meant.input,
        "shaft": _seat(told, "shaft"),
        "housing": _seat(told, "housing"),
        "bore_readings_mm": lengths_mm(told.get("bore", ""), "bore of the bearing"),
        "od_readings_mm": lengths_mm(told.get("od", ""), "outside of the bearing"),
        "done": done,
    }
    part |= {name: told[name].strip() for name in _WORDS if told.get(name, "").strip()}
    for name, field in _NUMBERS.items():
        if (value := number_in(told.get(field, ""), field.replace("_", " "))) is not None:
            part[name] = value
    return part


def _seat(told: Mapping[str, str], seat: str) -> dict[str, Any]:
    sections = [lengths_mm(told.get(f"{seat}{place}", ""), f"{seat} reading") for place in ("", "_2")]
    given: dict[str, Any] = {"readings_mm": tuple(section for section in sections if section)}
    for name in ("instrument", "material", "zone"):
        if word := told.get(f"{seat}_{name}", "").strip():
            given[name] = word
    if word := told.get("surface", "").strip():
        given["surface"] = word
    if (wall_mm := number_in(told.get(f"{seat}_wall", ""), f"{seat} wall")) is not None:
        given["wall_mm"] = wall_mm
    if (warm_c := number_in(told.get("temperature_c", ""), "temperature")) is not None:
        given["temperature_c"] = warm_c
    return given
