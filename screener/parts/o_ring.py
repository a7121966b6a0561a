"""O-rings: inside diameter x section, or AS568 dash numbers (ISO 3601-1)."""

from __future__ import annotations

import re

from screener.parts.model import Explained
from screener.parts.shaft_seal import seal_materials
from screener.parts.sizes import PAIR, read_number
from screener.parts.text import number_text
from screener.specs.orings import oring, orings_near

_WORDS = re.compile(r"(?<![A-Z])(?:O ?-? ?RINGS?|ORINGS?|OR|ORM|O ?RING)(?![A-Z])|ISO ?3601(?:-1)?(?![0-9])|DIN ?3771")
_DASH = re.compile(r"(?:AS ?-?568 ?[A-D]?|BS ?1806|ISO ?3601(?:-1)?)[ \-]*(\d{3})(?![0-9])|^ORING ?-(\d{3})$")
_LARGEST_SECTION_MM = 20.0


def read_o_ring(text: str, original: str) -> Explained | None:
    """Return what a normalised text says as an O-ring, or None if it is none."""
    dash = _DASH.search(text)
    if dash is not None:
        return _by_dash(original, dash[1] or dash[2], _rest(text, dash.start(), dash.end()))
    named = _WORDS.search(text)
    masked = text[: named.start()] + " " * (named.end() - named.start()) + text[named.end() :] if named else text
    pair = PAIR.search(masked)
    if pair is None:
        return None
    inside_mm, section_mm = read_number(pair[1]), read_number(pair[2])
    if not 0 < section_mm <= min(_LARGEST_SECTION_MM, 1.5 * inside_mm):
        return None
    return _by_size(original, inside_mm, section_mm, _rest(masked, pair.start(), pair.end()))


def _rest(text: str, start: int, end: int) -> list[str]:
    rest = text[:start] + " " + text[end:]
    return [word for word in re.split(r"[ ,;:()/\-]+", _WORDS.sub(" ", rest)) if word]


def _words(rest: list[str]) -> tuple[str | None, tuple[str, ...]]:
    material, unknown = None, []
    for word in rest:
        found = seal_materials().get(re.sub(r"(?<=[RMQE])\d{2}$", "", word))
        if found is not None and found.certainty == "usual":
            material = found.value
        elif not re.fullmatch(r"[4-9]\d|SH|SHORE|A|MM", word):
            unknown.append(word)
    return material, tuple(unknown)


def _by_size(original: str, inside_mm: float, section_mm: float, rest: list[str]) -> Explained:
    material, unknown = _words(rest)
    row = _row_of_size(inside_mm, section_mm)
    return Explained(
        input=original,
        understood=not unknown,
        kind="o_ring",
        family="O-ring",
        basic=f"{number_text(inside_mm)}x{number_text(section_mm)}",
        bore_mm=inside_mm,
        od_mm=round(inside_mm + 2 * section_mm, 3),
        width_mm=section_mm,
        material=material,
        standard_size=row is not None,
        not_understood=unknown,
        sources=(row,) if row else (),
        notes=("inside diameter x section",),
    )


def _by_dash(original: str, dash: str, rest: list[str]) -> Explained:
    material, unknown = _words(rest)
    size = _size_of_dash(dash)
    if size is None:
        return Explained(
            original,
            understood=False,
            kind="o_ring",
            family="O-ring",
            not_understood=(f"-{dash}", *unknown),
            notes=(f"The table of AS568 sizes has no dash number {dash}.",),
        )
    inside_mm, section_mm, rests_on = size
    return Explained(
        input=original,
        understood=not unknown,
        kind="o_ring",
        family="O-ring",
        basic=f"AS568-{dash}",
        bore_mm=inside_mm,
        od_mm=round(inside_mm + 2 * section_mm, 3),
        width_mm=section_mm,
        material=material,
        standard_size=True,
        not_understood=unknown,
        sources=(rests_on,),
        notes=("inside diameter x section",),
    )


def _row_of_size(inside_mm: float, section_mm: float) -> str | None:
    near = orings_near(inside_mm, section_mm)
    return near[0].row_name if near else None


def _size_of_dash(dash: str) -> tuple[float, float, str] | None:
    row = oring(dash)
    return (row.inner_mm, row.section_mm, row.row_name) if row else None
