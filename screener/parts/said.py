"""What prefix and suffixes say, whatever the size of the bearing: computed once for each spelling of a tail."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from screener.parts.families import families
from screener.parts.stray import is_passing_word
from screener.parts.tail import Piece, read_tail
from screener.parts.vocabulary import PREFIX_TABLE, Code, Meaning, codes_for


@dataclass(frozen=True, slots=True)
class Said:
    """Everything a prefix and a tail say about a bearing of one family."""

    pieces: tuple[Piece, ...]
    """Places count from the end of the basic designation."""
    unknown: tuple[Piece, ...]
    end: int
    """Where the last piece ends."""
    left_over: int
    """How many characters were not understood."""
    values: Mapping[str, str]
    open: frozenset[str]
    """Attributes that a code leaves open: disputed, contradicted, or outside the usual groups."""
    ambiguous: tuple[str, ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    inch_bore_mm: float | None
    clashes: int
    """How many codes contradict another one."""


@lru_cache(maxsize=8192)
def said_by(tail: str, family_key: str, prefix: str, *, stop_at_unknown: bool) -> Said:
    """Read a tail (the text behind the basic designation) together with a prefix token, which may be empty."""
    family = families()[family_key]
    read = read_tail(tail, 0, family, stop_at_unknown=stop_at_unknown)
    codes = [piece.code for piece in read.pieces if piece.code is not None]
    if prefix:
        codes.insert(0, codes_for(family.scope, family.groups, PREFIX_TABLE)[prefix])
    gathered = _gather(codes)
    passed = {
        piece for piece in read.unknown if _stands_alone(tail, piece) and is_passing_word(piece.text) and not piece.word
    }
    unknown = tuple(piece for piece in read.unknown if piece not in passed)
    gathered.notes.extend(f"“{piece.text}” was not read" for piece in read.pieces if piece in passed)
    return Said(
        pieces=read.pieces,
        unknown=unknown,
        end=max((piece.end for piece in read.pieces), default=0),
        left_over=sum(piece.end - piece.start for piece in unknown),
        values=MappingProxyType({name: value for name, value in gathered.values.items() if name not in gathered.open}),
        open=frozenset(gathered.open),
        ambiguous=tuple(gathered.ambiguous),
        notes=tuple(gathered.notes),
        sources=tuple(gathered.sources),
        inch_bore_mm=read.inch_bore_mm,
        clashes=gathered.clashes,
    )


def _stands_alone(tail: str, piece: Piece) -> bool:
    return tail[piece.start - 1 : piece.start] == " " and tail[piece.end : piece.end + 1] in {"", " ", ",", ";"}


def _gather(codes: Iterable[Code]) -> _Attributes:
    gathered = _Attributes()
    codes = tuple(codes)
    for code in codes:
        gathered.take(code)
    for code in codes:
        if code.disputed:
            gathered.leave_open(code)
    return gathered


class _Attributes:
    """Attributes gathered from codes; two codes that contradict each other leave the attribute open."""

    def __init__(self) -> None:
        self.values: dict[str, str] = {}
        self.open: set[str] = set()
        self.clashes = 0
        self.ambiguous: list[str] = []
        self.notes: list[str] = []
        self.sources: list[str] = []

    def take(self, code: Code) -> None:
        self.sources.append(code.row_name)
        if code.dispute is not None:
            self.ambiguous.append(code.dispute)
        if not code.disputed:
            self.notes.append(code.note)
            self.add(code.token, code.main)

    def leave_open(self, code: Code) -> None:
        """Mark what a disputed code may say as unknown, unless another code says it."""
        for reading in code.readings:
            self.open.update(name for name, _ in reading.attributes if name not in self.values)

    def add(self, token: str, meaning: Meaning) -> None:
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
        self.clashes += 1
        self.open.add(name)
