"""Rotary shaft seals: size, type letters and material (ISO 6194-1, DIN 3760, ISO 1629, letters of the trade)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from screener.parts.model import Explained
from screener.parts.sizes import Triple, triples
from screener.parts.text import number_text
from screener.specs.boundary import boundary_rows
from screener.specs.elastomers import elastomer
from screener.specs.seals import SealSizeRow, seal_size, seal_sizes
from screener.specs.table import read_rows

TYPE_TABLE = "seal_types.csv"
MATERIAL_TABLE = "seal_materials.csv"
_WORD = re.compile(r"[A-ZÄÖÜ]+\d{0,2}|\d+(?:[.,]\d+)?|[^\sA-Z0-9]")
_STANDARD = re.compile(r"(?:DIN|ISO|GOST|JIS ?B?) ?-?(?:3760|3761|6194|6194-1|8752|2402)(?:-\d)?")
_HARDNESS = re.compile(
    r"(?<![0-9A-Z])([5-9]\d) ?-?(?=(?:NBR|FKM|FPM|HNBR|ACM|VMQ|MVQ|EPDM))"
    r"|(?<=[RMQ]) ?-?([5-9]\d)(?: ?SH(?:ORE)?(?: ?A)?)?(?![0-9X])"
)
_GLUE = frozenset("-/,.;:()+")
_WIDEST_MM = 30.0
_LARGEST_MM = 1300.0
_SMALLEST_HOUSING_MM = 7.0
_FARTHEST_MEANT_MM = 3.0


@dataclass(frozen=True, slots=True)
class SealWord:
    """A type code or a material word."""

    token: str
    value: str | None
    says: str
    certainty: str
    row_name: str
    lips: int | None = None
    outside: str | None = None


@cache
def seal_types() -> Mapping[str, SealWord]:
    """Return the type codes by token."""
    rows = read_rows(TYPE_TABLE, ("token", "seal_type", "lips", "outside", "meaning", "certainty", "source"))
    found = {}
    for row in rows:
        lips = row.maybe_number("lips")
        found[row.text("token")] = SealWord(
            row.text("token"),
            row.maybe_text("seal_type"),
            row.text("meaning"),
            row.text("certainty"),
            f"{TYPE_TABLE}: {row.text('token')} ({row.text('source')})",
            int(lips) if lips else None,
            row.maybe_text("outside"),
        )
    return found


@cache
def seal_materials() -> Mapping[str, SealWord]:
    """Return the material words by token."""
    rows = read_rows(MATERIAL_TABLE, ("token", "material", "certainty", "meaning", "source"))
    return {
        row.text("token"): SealWord(
            row.text("token"),
            row.text("material"),
            row.text("meaning"),
            row.text("certainty"),
            f"{MATERIAL_TABLE}: {row.text('token')} ({row.text('source')})",
        )
        for row in rows
    }


@dataclass(frozen=True, slots=True)
class SealRead:
    """A seal in a normalised text: the size and the words around it."""

    size: Triple
    kind: SealWord | None
    material: SealWord | None
    left_over: tuple[str, ...]
    start: int
    end: int
    clash: str | None = None


def read_seal(text: str, *, whole: bool = True) -> SealRead | None:
    """Read a shaft seal from a normalised text.

    Parameters
    ----------
    whole
        Every word belongs to the seal and counts as left over if unknown; otherwise only words touching the size.
    """
    masked = _STANDARD.sub(lambda hit: " " * len(hit[0]), text)
    size = next(iter(triples(masked)), None)
    if size is None:
        return None
    return _with_words(masked, size, whole=whole)


def _with_words(text: str, size: Triple, *, whole: bool) -> SealRead:
    without_hardness = _HARDNESS.sub(lambda hit: " " * len(hit[0]), text)
    before = [(hit[0], hit.start(), hit.end()) for hit in _WORD.finditer(without_hardness, 0, size.start)]
    after = [(hit[0], hit.start(), hit.end()) for hit in _WORD.finditer(without_hardness, size.end)]
    kind: SealWord | None = None
    material: SealWord | None = None
    left_over: list[str] = []
    start, end, clash = size.start, size.end, None
    for words in (list(reversed(before)), after):
        for word, begins, ends in words:
            if word in _GLUE:
                continue
            as_kind, as_material = seal_types().get(word), seal_materials().get(word)
            if as_kind is not None and kind is None and _kind_first(as_material, words is after):
                kind = as_kind
            elif as_material is not None and material is None:
                material = as_material
            elif as_material is not None and material is not None and as_material.value == material.value:
                pass
            elif not whole:
                break
            else:
                if as_material is not None or as_kind is not None:
                    clash = word
                left_over.append(text[begins:ends])
                continue
            start, end = min(start, begins), max(end, ends)
    return SealRead(size, kind, material, tuple(left_over), start, end, clash)


def _kind_first(as_material: SealWord | None, behind: bool) -> bool:
    """Say whether a letter that may be a type or a material is taken as a type: before the size, or if only a type."""
    return as_material is None or not behind


def swapped(size: Triple) -> str | None:
    """Return what is wrong if the numbers stand in an order that no seal can have, else None."""
    shaft, housing, width = size.first, size.second, size.third
    if shaft >= housing:
        return f"The shaft {shaft:g} mm is not smaller than the housing bore {housing:g} mm."
    if width >= housing or (width > _WIDEST_MM and width > shaft):
        return f"A width of {width:g} mm does not go with {shaft:g} x {housing:g} mm."
    return None


def explain_seal(text: str, read: SealRead) -> Explained:
    """Return what a seal designation says; an impossible size is not understood and gets suggestions."""
    size = read.size
    fault = swapped(size) or _out_of_range(size)
    if fault is not None:
        return _impossible(text, read, fault)
    row = seal_size(size.first, size.second, size.third)
    name = "x".join(number_text(value) for value in (size.first, size.second, size.third))
    sure_material = read.material if read.material and read.material.certainty == "usual" else None
    sure_kind = read.kind if read.kind and read.kind.certainty == "usual" else None
    doubts = [word for word in (read.kind, read.material) if word is not None and word.certainty != "usual"]
    sources = [row.row_name] if row else []
    sources += [word.row_name for word in (read.kind, read.material) if word is not None]
    notes = [f"{word.token}: {word.says}" for word in (sure_kind, sure_material) if word]
    if row is None:
        notes.append(f"{name} does not stand in the table of standard sizes.")
        notes.extend(_bearing_of_this_size(size))
    if size.lip_width is not None:
        notes.append(f"width over the lips {size.lip_width:g} mm")
    return Explained(
        input=text,
        understood=not read.left_over,
        kind="shaft_seal",
        family="rotary shaft seal",
        basic=name,
        bore_mm=size.first,
        od_mm=size.second,
        width_mm=size.third,
        material=sure_material.value if sure_material else None,
        seal_type=sure_kind.value if sure_kind else None,
        standard_size=row is not None,
        ambiguous=tuple(f"{word.token}: {word.says}; other houses use it otherwise" for word in doubts),
        not_understood=read.left_over,
        suggestions=() if row else near_sizes(size.first, size.second, size.third),
        sources=tuple(sources),
        notes=(*notes, *_temperature_note(sure_material)),
    )


@cache
def _bearings_by_size() -> Mapping[tuple[float, float, float], str]:
    rows = (row for row in boundary_rows() if row.family == "deep groove ball")
    return {(row.bore_mm, row.od_mm, row.width_mm): row.designation for row in rows}


def _bearing_of_this_size(size: Triple) -> tuple[str, ...]:
    name = _bearings_by_size().get((size.first, size.second, size.third))
    return (f"A bearing {name} has these three dimensions; no standard seal has.",) if name else ()


def _temperature_note(material: SealWord | None) -> tuple[str, ...]:
    row = elastomer(material.value) if material is not None and material.value else None
    return (f"{row.material}: usually {row.lowest_c:g} to {row.highest_c:g} °C ({row.row_name})",) if row else ()


def _out_of_range(size: Triple) -> str | None:
    written = f"{size.first:g} x {size.second:g} x {size.third:g}"
    if size.second < _SMALLEST_HOUSING_MM:
        return f"{written} looks like inches: write millimetres."
    if size.second > _LARGEST_MM or min(size.first, size.third) <= 0:
        return f"{written} mm is no size of a shaft seal."
    return None


def _impossible(text: str, read: SealRead, says: str) -> Explained:
    """Return a size that cannot be, with the standard sizes it may be meant for: the same numbers in order, or near."""
    size = read.size
    width, shaft, housing = sorted((size.first, size.second, size.third))
    row = seal_size(shaft, housing, width)
    meant = (row.size,) if row else near_sizes(shaft, housing, width, farthest_mm=_FARTHEST_MEANT_MM)
    return Explained(
        input=text,
        understood=False,
        kind="shaft_seal",
        family="rotary shaft seal",
        not_understood=(text[size.start : size.end], *read.left_over),
        suggestions=meant,
        spans=((size.start, size.end),),
        notes=(says,),
    )


def near_sizes(
    shaft_mm: float, housing_mm: float, width_mm: float, *, limit: int = 3, farthest_mm: float = math.inf
) -> tuple[str, ...]:
    """Return standard sizes for the same shaft, the nearest first; other shafts are never suggested."""

    def distance(row: SealSizeRow) -> float:
        return abs(row.housing_mm - housing_mm) + 0.7 * abs(row.width_mm - width_mm)

    rows = [row for row in seal_sizes() if row.shaft_mm == shaft_mm and distance(row) <= farthest_mm]
    return tuple(row.size for row in sorted(rows, key=distance)[:limit])
