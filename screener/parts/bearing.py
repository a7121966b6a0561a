"""From a basic designation and its suffixes to attributes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any, get_args

from screener.parts.basic_scan import BasicFound, basics_at
from screener.parts.basics import Basic
from screener.parts.model import Clearance, Closure, ClosureKind, Explained
from screener.parts.said import Said, said_by
from screener.specs.masses import MassRow, mass_row

_CLOSURE_KINDS = frozenset(get_args(ClosureKind))
_CLEARANCES = frozenset(get_args(Clearance))
_LONGEST_TAIL = 120
_FIT_TOLERANCE_MM = 1e-6


@dataclass(frozen=True, slots=True)
class BearingRead:
    """One way to read a text as a bearing."""

    found: BasicFound
    said: Said
    end: int
    """Where the last piece ends."""

    @property
    def left_over(self) -> int:
        """How many characters were not understood."""
        return self.said.left_over


def readings_at(text: str, start: int, *, whole: bool) -> list[BearingRead]:
    """Return the ways to read a bearing from ``start`` on, the one with least left over first.

    Parameters
    ----------
    text
        Normalised text.
    whole
        The text is one designation: what is not understood is kept. Otherwise reading stops before it.
    """
    reads = []
    for found in basics_at(text, start, split_numbers=whole):
        end = found.end
        if text[end : end + 1].isdigit() and not _suffix_may_follow(text, end):
            continue
        prefix = found.prefix.token if found.prefix is not None else ""
        said = said_by(text[end : end + _LONGEST_TAIL], found.basic.family.key, prefix, stop_at_unknown=not whole)
        reads.append(BearingRead(found, said, end + said.end))
    if len(reads) > 1:
        reads.sort(key=_least_left_over if whole else _longest)
    return reads


def _least_left_over(read: BearingRead) -> tuple[int, int, bool, int]:
    return read.said.left_over, read.said.clashes, read.found.basic.row is None, -read.found.end


def _longest(read: BearingRead) -> tuple[int, int]:
    return -read.end, -read.found.end


def _suffix_may_follow(text: str, place: int) -> bool:
    """Say whether digits right behind a basic number can begin a suffix (62022RS, 60042Z)."""
    return text[place] in "25" and text[place + 1 : place + 2].isalpha()


@cache
def _closure(value: str | None) -> Closure | None:
    if value is None:
        return None
    kind, _, sides = value.partition("/")
    if kind not in _CLOSURE_KINDS:
        return None
    count = int(sides) if sides else (0 if kind == "open" else 2)
    return Closure(kind, count)  # type: ignore[arg-type]


def assemble(text: str, read: BearingRead) -> Explained:
    """Return everything one reading says.

    Parameters
    ----------
    text
        The input as it was written; spans of the reading point into it.
    """
    basic, said, offset = read.found.basic, read.said, read.found.end
    get = said.values.get
    missing = tuple(text[offset + piece.start : offset + piece.end].strip(" -/") for piece in said.unknown)
    closure = _closure(_or_unmarked("closure", basic.family.unmarked_closure, said))
    clearance = _or_unmarked("clearance", basic.family.unmarked_clearance, said)
    weighed = _mass(basic, closure, said)
    angle = get("contact_angle_deg")
    explained = Explained(
        input=text,
        understood=not missing,
        kind="bearing",
        family=basic.family.name,
        basic=basic.name,
        bore_mm=basic.bore_mm,
        od_mm=basic.od_mm,
        width_mm=_width(basic, closure),
        r_min_mm=basic.row.r_min_mm if basic.row else None,
        closure=closure,
        clearance=clearance if clearance in _CLEARANCES else None,  # type: ignore[arg-type]
        accuracy=get("accuracy"),
        cage=get("cage"),
        snap_ring=get("snap_ring"),
        tapered_bore=get("tapered_bore"),
        material=get("material"),
        contact_angle_deg=float(angle) if angle else None,
        heat_stabilisation=get("heat_stabilisation"),
        grease=get("grease"),
        inner_design=get("inner_design"),
        arrangement=get("arrangement"),
        coating=get("coating"),
        mass_kg=weighed.mass_kg if weighed else None,
        ambiguous=said.ambiguous,
        not_understood=missing,
        sources=(basic.rests_on, *said.sources, *((weighed.row_name,) if weighed else ())),
        notes=(*_notes(basic), *said.notes),
        flanged=basic.flanged or get("flanged") == "yes",
        clearance_code=get("clearance_code"),
        spans=tuple((offset + piece.start, offset + piece.end) for piece in said.unknown),
        undecided=tuple(sorted(said.open)),
        second_closure=_closure(get("second_closure")),
    )
    return explained if said.inch_bore_mm is None else _with_inch_bore(explained, said.inch_bore_mm)


def _or_unmarked(name: str, unmarked: str | None, said: Said) -> str | None:
    """Return what is said or, of a wholly understood designation, what goes unmarked."""
    value = said.values.get(name)
    if value is not None or name in said.open or said.unknown:
        return value
    return unmarked


def _mass(basic: Basic, closure: Closure | None, said: Said) -> MassRow | None:
    """Return the printed mass of an open bearing or one closed on both sides."""
    if basic.row is None or closure is None or closure.sides == 1 or said.inch_bore_mm is not None:
        return None
    return mass_row(basic.row.designation, closure.kind)


def _width(basic: Basic, closure: Closure | None) -> float | None:
    """Return the width; None where open and closed ones differ and the designation does not say which."""
    row = basic.row
    if row is None or row.closed_width_mm is None:
        return basic.width_mm
    if closure is None:
        return row.width_mm if abs(row.closed_width_mm - row.width_mm) < _FIT_TOLERANCE_MM else None
    return row.width_for(closed=closure.sides > 0)


def _notes(basic: Basic) -> tuple[str, ...]:
    missing = () if basic.row else (f"The tables have no row for {basic.name}: the size is not checked.",)
    return (basic.note, *missing) if basic.note else missing


def _with_inch_bore(explained: Explained, inch_bore_mm: float) -> Explained:
    """Replace the bore where an inch bore is written behind a metric number (``6202-5/8`` has 15.875 mm)."""
    if explained.bore_mm is not None and not 0.65 * explained.bore_mm < inch_bore_mm < 1.25 * explained.bore_mm:
        note = f"A bore of {inch_bore_mm:g} mm does not fit a {explained.basic}."
        missing = (*explained.not_understood, f"bore {inch_bore_mm:g} mm")
        return replace(
            explained, understood=False, bore_mm=None, not_understood=missing, notes=(*explained.notes, note)
        )
    changes: dict[str, Any] = {
        "bore_mm": inch_bore_mm,
        "notes": (*explained.notes, f"bore {inch_bore_mm:g} mm in the shell of a {explained.basic}"),
    }
    return replace(explained, **changes)
