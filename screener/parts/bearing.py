"""From a basic designation and its suffixes to attributes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

from screener.parts.basic_scan import BasicFound, basics_at
from screener.parts.basics import Basic
from screener.parts.model import Clearance, Closure, ClosureKind, Explained
from screener.parts.tail import Tail, read_tail
from screener.parts.vocabulary import Code, Meaning
from screener.specs.masses import mass_row

_CLOSURE_KINDS = frozenset(get_args(ClosureKind))
_CLEARANCES = frozenset(get_args(Clearance))
_FIT_TOLERANCE_MM = 1e-6


@dataclass(frozen=True, slots=True)
class BearingRead:
    """One way to read a text as a bearing."""

    found: BasicFound
    tail: Tail

    @property
    def end(self) -> int:
        """Where the last piece ends."""
        return max((piece.end for piece in self.tail.pieces), default=self.found.end)

    @property
    def left_over(self) -> int:
        """How many characters were not understood."""
        return sum(piece.end - piece.start for piece in self.tail.unknown)


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
        following = text[found.end : found.end + 1]
        if following.isdigit() and not _suffix_may_follow(text, found.end):
            continue
        tail = read_tail(text, found.end, found.basic.family, stop_at_unknown=not whole)
        reads.append(BearingRead(found, tail))
    if whole:
        return sorted(reads, key=lambda read: (read.left_over, -read.found.end))
    return sorted(reads, key=lambda read: (-read.end, -read.found.end))


def _suffix_may_follow(text: str, place: int) -> bool:
    """Say whether digits right behind a basic number can begin a suffix (62022RS, 60042Z)."""
    return text[place] in "254" and text[place + 1 : place + 2].isalpha()


class _Attributes:
    """Attributes gathered from codes; two codes that contradict each other leave the attribute open."""

    def __init__(self) -> None:
        self.values: dict[str, str] = {}
        self.open: set[str] = set()
        self.ambiguous: list[str] = []
        self.notes: list[str] = []
        self.sources: list[str] = []

    def take(self, code: Code) -> None:
        self.sources.append(code.row_name)
        dispute = code.dispute()
        if dispute:
            self.ambiguous.append(dispute)
        if not code.disputed:
            self.add(code.token, code.main)

    def leave_open(self, code: Code) -> None:
        """Mark what a disputed code may say as unknown, unless another code says it."""
        for reading in code.readings:
            self.open.update(name for name, _ in reading.attributes if name not in self.values)

    def add(self, token: str, meaning: Meaning) -> None:
        self.notes.append(f"{token}: {meaning.says}")
        for name, value in meaning.attributes:
            if value == "?":
                self.open.add(name)
            elif name == "closure":
                self._add_closure(token, value)
            elif self.values.setdefault(name, value) != value and name != "inner_design":
                self._contradiction(name, token, value)

    def _add_closure(self, token: str, value: str) -> None:
        held = self.values.get("closure")
        if held is None:
            self.values["closure"] = value
        elif held.endswith("/1") and value.endswith("/1"):
            if held == value:
                self.values["closure"] = value[:-1] + "2"
            else:
                self.values["second_closure"] = value
        elif held != value:
            self._contradiction("closure", token, value)

    def _contradiction(self, name: str, token: str, value: str) -> None:
        self.ambiguous.append(f"{token}: says {name} {value}, another code says {self.values[name]}")
        self.open.add(name)


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
    basic = read.found.basic
    codes = [piece.code for piece in read.tail.pieces if piece.code is not None]
    if read.found.prefix is not None:
        codes.insert(0, read.found.prefix)
    gathered = _gather(codes)
    missing = tuple(text[piece.start : piece.end].strip(" -/") for piece in read.tail.unknown)
    closure, clearance = _closure_and_clearance(basic, gathered, complete=not missing)
    said = {name: value for name, value in gathered.values.items() if name not in gathered.open}
    width_mm = _width(basic, closure)
    weighed = mass_row(basic.row.designation, closure.kind if closure else None) if basic.row else None
    if weighed is not None and (closure is None or read.tail.inch_bore_mm is not None or closure.sides == 1):
        weighed = None
    explained = Explained(
        input=text,
        understood=not missing,
        kind="bearing",
        family=basic.family.name,
        basic=basic.name,
        bore_mm=basic.bore_mm,
        od_mm=basic.od_mm,
        width_mm=width_mm,
        r_min_mm=basic.row.r_min_mm if basic.row else None,
        closure=closure,
        clearance=clearance,
        accuracy=said.get("accuracy"),
        cage=said.get("cage"),
        snap_ring=said.get("snap_ring"),
        tapered_bore=said.get("tapered_bore"),
        material=said.get("material"),
        contact_angle_deg=float(said["contact_angle_deg"]) if "contact_angle_deg" in said else None,
        heat_stabilisation=said.get("heat_stabilisation"),
        grease=said.get("grease"),
        inner_design=said.get("inner_design"),
        arrangement=said.get("arrangement"),
        coating=said.get("coating"),
        mass_kg=weighed.mass_kg if weighed else None,
        ambiguous=tuple(gathered.ambiguous),
        not_understood=missing,
        sources=tuple(_sources(basic, gathered, weighed.row_name if weighed else None)),
        notes=tuple(_notes(basic, gathered)),
        flanged=basic.flanged or said.get("flanged") == "yes",
        second_closure=_closure(said.get("second_closure")),
    )
    return _with_inch_bore(explained, read.tail.inch_bore_mm)


def _gather(codes: Sequence[Code]) -> _Attributes:
    gathered = _Attributes()
    for code in codes:
        gathered.take(code)
    for code in codes:
        if code.disputed:
            gathered.leave_open(code)
    return gathered


def _closure_and_clearance(
    basic: Basic, gathered: _Attributes, *, complete: bool
) -> tuple[Closure | None, Clearance | None]:
    """Return what is said or, of a wholly understood designation, what goes unmarked."""
    closure, clearance = gathered.values.get("closure"), gathered.values.get("clearance")
    if closure is None and complete:
        closure = basic.family.unmarked_closure
    if clearance is None and complete:
        clearance = basic.family.unmarked_clearance
    if "closure" in gathered.open:
        closure = None
    if "clearance" in gathered.open or clearance not in _CLEARANCES:
        clearance = None
    return _closure(closure), clearance  # type: ignore[return-value]


def _width(basic: Basic, closure: Closure | None) -> float | None:
    """Return the width; None where open and closed ones differ and the designation does not say which."""
    row = basic.row
    if row is None or row.closed_width_mm is None:
        return basic.width_mm
    if closure is None:
        return row.width_mm if abs(row.closed_width_mm - row.width_mm) < _FIT_TOLERANCE_MM else None
    return row.width_for(closed=closure.sides > 0)


def _sources(basic: Basic, gathered: _Attributes, mass: str | None) -> Iterator[str]:
    yield basic.rests_on
    yield from gathered.sources
    if mass is not None:
        yield mass


def _notes(basic: Basic, gathered: _Attributes) -> Iterator[str]:
    if basic.note:
        yield basic.note
    if basic.row is None:
        yield f"The tables have no row for {basic.name}: the size is not checked."
    yield from gathered.notes


def _with_inch_bore(explained: Explained, inch_bore_mm: float | None) -> Explained:
    """Replace the bore where an inch bore is written behind a metric number (``6202-5/8`` has 15.875 mm)."""
    if inch_bore_mm is None:
        return explained
    if explained.bore_mm is not None and not 0.5 * explained.bore_mm < inch_bore_mm < 1.7 * explained.bore_mm:
        note = f"The inch bore {inch_bore_mm:g} mm does not fit a {explained.basic}."
        return replace(explained, understood=False, bore_mm=None, notes=(*explained.notes, note))
    changes: dict[str, Any] = {
        "bore_mm": inch_bore_mm,
        "notes": (*explained.notes, f"bore {inch_bore_mm:g} mm (inch size) in the shell of a {explained.basic}"),
    }
    return replace(explained, **changes)
