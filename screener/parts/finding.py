"""Designations inside a longer line of text: labels, order lines, notes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from screener.parts.bearing import BearingRead, assemble, readings_at
from screener.parts.maker_words import MakerWord, blank_maker_words, maker_words
from screener.parts.model import Explained, Found
from screener.parts.o_ring import read_o_ring
from screener.parts.retaining_ring import read_retaining_ring
from screener.parts.shaft_seal import SealRead, explain_seal, read_seal, swapped
from screener.parts.sizes import triples
from screener.parts.stray import blank_counts
from screener.parts.text import normalise
from screener.specs.seals import seal_size

_WORD = re.compile(r"(?<![0-9A-Z])(?<!\d[.,/\-:])[0-9A-Z]")
_LONGEST_LINE = 2000
_WORDS_BEHIND = 16
_WIDEST_UNNAMED_MM = 13.0
_DEEPEST_UNNAMED_MM = 20.0
_BARE_NUMBER = re.compile(r"\d{3,5}$")
# A number after one of these words is something else than a part.
_COUNTED_BEFORE = re.compile(
    r"(?:QTY|QUANTITY|MENGE|ANZAHL|TEL|PHONE|FAX|LOT|BATCH|CHARGE|DATE|DATUM|ORDER|INVOICE|PO|SN|S/N|SERIAL|NO|NR|ZIP|"
    r"PLZ|BOX|KARTON|WEEK|YEAR|CODE|EAN|GTIN|€|\$|EUR|USD|RPM|\+\d{1,3})[ .:#=\-]*$|[#+]$|\d[ \-]?$"
)
_PART_NUMBER_BEFORE = re.compile(r"(?:PART|ART|TYPE|TYP|BEARING|BRG|LAGER|MODEL|REF)[ .\-]*(?:NO|NR)[ .:#=\-]*$")
_UNIT_AFTER = re.compile(
    r" ?(?:PCS?|PCE|PIECES?|STK|ST|STÜCK|EA|OFF|KG|G|MM|CM|M|H|HRS|RPM|MIN|N|KN|W|KW|V|€|EUR|USD|%|X)(?![0-9A-Z\-/])"
)
_UNIT_LETTER = re.compile(r"^\d+ [a-z]$")
_MORE_FIGURES = re.compile(r"[.,:/\-]\d|[ ]\d{2,}(?![0-9]| ?X ?\d)")
_DIN = re.compile(r"AS ?-?568[ \-]*\d{3}(?![0-9])|DIN ?-?47[12][ \-]*\d{1,3}(?: ?X ?\d(?:[.,]\d{1,2})?)?(?![0-9])")


def find_in_text(line: str) -> tuple[Found, ...]:
    """Return the bearing designations, seal sizes and retaining rings in a line, left to right, not overlapping.

    A bare number counts only where nothing speaks against it: no unit or count beside it, no lot, date or phone number.
    """
    whole = normalise(str(line)[:_LONGEST_LINE])
    makers = maker_words(whole)
    text = blank_counts(blank_maker_words(whole, makers))
    found = sorted((*_rings(text, line), *_seals(text, line), *_bearings(text, line)), key=lambda hit: hit.start)
    kept: list[Found] = []
    for hit in found:
        if kept and hit.start < kept[-1].end:
            if hit.end - hit.start > kept[-1].end - kept[-1].start:
                kept[-1] = hit
            continue
        kept.append(hit)
    return tuple(_with_makers(hit, whole, makers) for hit in kept)


def _with_makers(hit: Found, text: str, makers: tuple[MakerWord, ...]) -> Found:
    """Note the makers' words that stand in a find, or before or behind it with only blanks or a comma between."""
    notes = tuple(word.note for word in makers if _beside(hit, text, word))
    if not notes:
        return hit
    return replace(hit, explained=replace(hit.explained, notes=(*hit.explained.notes, *notes)))


def _beside(hit: Found, text: str, word: MakerWord) -> bool:
    between = text[word.end : hit.start] + text[hit.end : word.start]
    return not between.strip(" ,-/")


def _found(line: str, start: int, end: int, explained: Explained) -> Found:
    return Found(start, end, line[start:end], explained)


def _rings(text: str, line: str) -> Iterator[Found]:
    for hit in _DIN.finditer(text):
        piece = line[hit.start() : hit.end()]
        explained = read_retaining_ring(hit[0], piece) or read_o_ring(hit[0], piece)
        if explained is not None and explained.understood:
            yield _found(line, hit.start(), hit.end(), explained)


def _seals(text: str, line: str) -> Iterator[Found]:
    for size in triples(text):
        if swapped(size) is not None:
            continue
        before, after = text[: size.start], text[size.end :]
        if before[-1:].isalnum() and not before[-1:].isalpha():
            continue
        part = re.search(r"(?:[A-Z0-9]+[ \-]?){0,2}$", before)
        start = part.start() if part else size.start
        window = " " * start + text[start : size.end] + after[:_WORDS_BEHIND]
        read = read_seal(window, whole=False)
        if read is not None and _plausible_seal(read):
            explained = explain_seal(line[read.start : read.end], read)
            yield _found(line, read.start, read.end, explained)


def _plausible_seal(read: SealRead) -> bool:
    """Say whether three numbers are a seal and not a date, a bearing or a box.

    Without a times sign: only a standard size with type letters or a material. With one: a standard size, named
    letters, or at least the section of a seal.
    """
    size = read.size
    known = seal_size(size.first, size.second, size.third) is not None
    named = read.kind is not None or read.material is not None
    if not size.sure:
        return known and named
    slim = size.third <= _WIDEST_UNNAMED_MM and (size.second - size.first) / 2 <= _DEEPEST_UNNAMED_MM
    return known or named or slim


def _bearings(text: str, line: str) -> Iterator[Found]:
    place = 0
    while (hit := _WORD.search(text, place)) is not None:
        read = _acceptable(text, line, hit.start())
        if read is None:
            place = hit.start() + 1
            continue
        yield _found(line, read.found.start, read.end, assemble(line[read.found.start : read.end], read))
        place = read.end


def _acceptable(text: str, line: str, start: int) -> BearingRead | None:
    for read in readings_at(text, start, whole=False):
        end = read.end
        if text[end : end + 1].isalnum() or _UNIT_LETTER.search(line[start:end]):
            continue
        if _plausible_here(text, read):
            return read
    return None


def _plausible_here(text: str, read: BearingRead) -> bool:
    """Say whether a reading is more than a number that happens to be a designation."""
    start, end = read.found.start, read.end
    if not _BARE_NUMBER.fullmatch(text[start:end]):
        return not re.match(r"[.,:/]\d", text[end : end + 2])
    before = text[max(0, start - 18) : start]
    if _COUNTED_BEFORE.search(before) and not _PART_NUMBER_BEFORE.search(before):
        return False
    return not (_UNIT_AFTER.match(text, end) or _MORE_FIGURES.match(text, end))
