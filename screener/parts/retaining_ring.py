"""Retaining rings: DIN 471 on the shaft, DIN 472 in the bore."""

from __future__ import annotations

import re

from screener.parts.model import Explained
from screener.parts.text import number_text
from screener.specs.retaining_rings import ring_for_bore, ring_for_shaft

_STANDARD = re.compile(r"DIN ?-?(471|472)(?![0-9])")
_WORDS = frozenset(
    {
        "RING",
        "RINGS",
        "RETAINING",
        "CIRCLIP",
        "CIRCLIPS",
        "SNAP",
        "SICHERUNGSRING",
        "FORM",
        "MM",
        "EXTERNAL",
        "INTERNAL",
        "FOR",
        "SHAFT",
        "BORE",
    }
)
_SIZE = re.compile(r"(?<![0-9.])[AIJ]? ?(\d{1,3})(?:[.,]0)?(?: ?[X*] ?(\d{1,2}(?:[.,]\d{1,2})?))?(?![0-9.])")


def read_retaining_ring(text: str, original: str) -> Explained | None:
    """Return what a normalised text says as a retaining ring, or None if it names no such standard."""
    named = _STANDARD.search(text)
    if named is None:
        return None
    rest = text[: named.start()] + " " * (named.end() - named.start()) + text[named.end() :]
    size = _SIZE.search(rest)
    outside = named[1] == "471"
    family = f"retaining ring DIN {named[1]} ({'shaft' if outside else 'bore'})"
    if size is None:
        return Explained(original, understood=False, kind="retaining_ring", family=family, not_understood=(text,))
    nominal_mm = float(size[1])
    thickness_mm = float(size[2].replace(",", ".")) if size[2] else None
    left = rest[: size.start()] + " " + rest[size.end() :]
    unknown = tuple(word for word in re.split(r"[ ,;:()/\-]+", left) if word and word not in _WORDS)
    table_mm, rests_on = _thickness(named[1], nominal_mm)
    notes = [f"for a {'shaft' if outside else 'bore'} of {nominal_mm:g} mm"]
    if thickness_mm is not None and table_mm is not None and abs(thickness_mm - table_mm) > 1e-6:
        notes.append(f"the table gives a thickness of {table_mm:g} mm, not {thickness_mm:g}")
    if table_mm is None:
        notes.append(f"the table has no DIN {named[1]} ring for {nominal_mm:g} mm")
    width_mm = thickness_mm if thickness_mm is not None else table_mm
    return Explained(
        input=original,
        understood=not unknown,
        kind="retaining_ring",
        family=family,
        basic=f"DIN {named[1]} {number_text(nominal_mm)}" + (f"x{number_text(width_mm)}" if width_mm else ""),
        bore_mm=nominal_mm if outside else None,
        od_mm=None if outside else nominal_mm,
        width_mm=width_mm,
        standard_size=table_mm is not None and thickness_mm in {None, table_mm},
        not_understood=unknown,
        sources=(rests_on,) if rests_on else (),
        notes=tuple(notes),
    )


def _thickness(standard: str, nominal_mm: float) -> tuple[float | None, str | None]:
    row = ring_for_shaft(nominal_mm) if standard == "471" else ring_for_bore(nominal_mm)
    return (row.thickness_mm, row.row_name) if row else (None, None)
