"""One designation in, everything it says out."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache

from screener.parts.bearing import BearingRead, assemble, readings_at
from screener.parts.beside import read_beside, with_beside
from screener.parts.interstate import iso_for_interstate
from screener.parts.maker_words import blank_maker_words, maker_words
from screener.parts.model import Explained
from screener.parts.o_ring import read_o_ring
from screener.parts.retaining_ring import read_retaining_ring
from screener.parts.shaft_seal import explain_seal, read_seal
from screener.parts.stray import blank_counts, blank_stray, stray_words
from screener.parts.suggesting import near_codes
from screener.parts.text import normalise

_LONGEST = 160
_FEWEST_DIGITS = 2
_SHORTEST_WORD = 3
_LONGEST_NOISY = 24
_WORD_START = re.compile(r"(?<![0-9A-Z])[0-9A-Z]")
_RING_WORDS = re.compile(r"DIN ?-?47[12]|AS ?-?568|O ?-?RING|(?<![A-Z])OR(?![A-Z])|ISO ?3601|BS ?1806|DIN ?3771")


def explain(text: str) -> Explained:
    """Say what a designation means; what is not understood is listed, never guessed. Never raises.

    Parameters
    ----------
    text
        A designation in any spelling: ``6205-2RS1/C3``, ``62022rs``, ``TC 16*28*7 NBR``, ``AS568-214``,
        ``DIN 471 25x1.2``; stray words around it are read past.

    Examples
    --------
    >>> explain("6205 LLU C3").closure
    Closure(kind='contact_seal', sides=2)
    """
    return _explain(str(text))


def explain_spelling(text: str) -> Explained:
    """Explain a candidate spelling: as `explain`, but no standing designations are sought near it.

    Looking for what stands near a candidate would lead back to the candidate, without end.
    """
    return _explain(text, seek_near=False)


def explain_column(lines: Iterable[str]) -> Iterator[Explained]:
    """Explain a column line by line, in constant memory."""
    for line in lines:
        yield explain(line)


@lru_cache(maxsize=8192)
def _explain(text: str, *, seek_near: bool = True) -> Explained:
    if len(text) > _LONGEST:
        begun = _explain(text[:_LONGEST], seek_near=seek_near)
        return replace(begun, input=text, understood=False, not_understood=(text[_LONGEST:],))
    makers = maker_words(normalise(text))
    if not makers:
        return _explain_part(text, normalise(text), seek_near=seek_near)
    told = _explain_part(text, blank_maker_words(normalise(text), makers), seek_near=seek_near)
    return replace(told, notes=(*told.notes, *(word.note for word in makers)))


def _explain_part(text: str, whole: str, *, seek_near: bool) -> Explained:
    """Explain a text from its normal form, in which makers' words are blanked."""
    normal = blank_stray(whole).rstrip()
    start = _first_sign(normal)
    if start == len(normal):
        return Explained(input=text, understood=False, not_understood=(text.strip(),) if text.strip() else ())
    other = _ring(whole, text)
    if other is not None:
        return other
    bearings = readings_at(normal, start, whole=True)
    if bearings and bearings[0].left_over == 0:
        return _bearing(text, bearings)
    seal = read_seal(blank_stray(whole, "shaft_seal"))
    if seal is not None and not seal.left_over:
        return explain_seal(text, seal)
    beside = read_beside(normal)
    found = _bearing_in(text, beside.text)
    if found is not None and (seal is None or not seal.size.sure or beside.size is not None):
        return with_beside(found, beside)
    if seal is not None:
        return explain_seal(text, seal)
    return read_o_ring(normal, text) or _not_understood(text, seek_near=seek_near)


def _first_sign(normal: str) -> int:
    return len(normal) - len(normal.lstrip(" -/,;.:'\"([#"))


def _bearing_in(text: str, normal: str) -> Explained | None:
    """Return the bearing that a text begins with, or else the longest that begins at a later word."""
    start = _first_sign(normal)
    bearings = readings_at(normal, start, whole=True)
    if bearings:
        return _with_suggestions(_bearing(text, bearings), bearings[0])
    inside = _somewhere_inside(normal, start)
    return None if inside is None else _with_suggestions(_past_words(text, normal, inside), inside)


def _ring(normal: str, text: str) -> Explained | None:
    if _RING_WORDS.search(normal) is None:
        return None
    counted = blank_counts(normal)
    return read_retaining_ring(counted, text) or read_o_ring(counted, text)


def _bearing(text: str, reads: list[BearingRead]) -> Explained:
    """Return the best reading; two that are equally good and differ in size are reported, not chosen."""
    best = reads[0]
    rivals = [read for read in reads[1:] if _equally_good(text, best, read)]
    if not rivals:
        return assemble(text, best)
    names = tuple(_spelt(text, read) for read in (best, *rivals))
    return Explained(
        input=text,
        understood=False,
        kind="bearing",
        ambiguous=(f"{text.strip()}: may be read as {' or as '.join(names)}",),
        suggestions=names,
    )


def _equally_good(text: str, best: BearingRead, rival: BearingRead) -> bool:
    """Say whether a rival cuts the same run of signs elsewhere (6232RS: 6232-RS or 623-2RS) and reads it as well.

    Where a separator stands behind the longer number there is no doubt.
    """
    longer, shorter = sorted((best.found.end, rival.found.end), reverse=True)
    glued = text[longer : longer + 1].isalpha() and text[shorter:longer].lstrip(" -/") in {"2", "5"}
    if not glued or rival.found.basic.row is None or rival.found.basic.name == best.found.basic.name:
        return False
    return bool(best.left_over) or (rival.left_over, rival.said.clashes) == (best.left_over, best.said.clashes)


def _spelt(text: str, read: BearingRead) -> str:
    """Return the designation with a hyphen where the basic number ends."""
    return f"{text[read.found.start : read.found.end]}-{text[read.found.end :].strip(' -/')}".upper()


def _somewhere_inside(normal: str, start: int) -> BearingRead | None:
    """Return the longest bearing designation that begins at a later word."""
    best: BearingRead | None = None
    for hit in _WORD_START.finditer(normal, start + 1):
        if normal[hit.start() - 1] == "." and normal[hit.start() - 2 : hit.start() - 1].isdigit():
            continue
        for read in readings_at(normal, hit.start(), whole=True)[:1]:
            length = read.end - read.found.start - 2 * read.left_over
            if best is None or length > best.end - best.found.start - 2 * best.left_over:
                best = read
    return best


def _past_words(text: str, normal: str, read: BearingRead) -> Explained:
    """Return a designation found behind other words; plain names are noted, others not understood.

    A word before the number that tells something of the part (``sealed``) leaves open how the bearing is closed.
    """
    explained = assemble(text, read)
    before = [word for word in re.split(r"[ ,;:()]+", normal[: read.found.start]) if word.strip("-/.#+")]
    telling = [word for word in before if word in stray_words("telling")]
    plain = [word for word in before if word not in telling and not any(char.isdigit() for char in word)]
    odd = tuple(word for word in before if word not in plain)
    if telling and not read.said.values.get("closure"):
        explained = replace(explained, closure=None, mass_kg=None)
    notes = (*explained.notes, *(f"“{word}” before the designation was not read" for word in plain))
    return replace(
        explained,
        understood=explained.understood and not odd,
        notes=notes,
        not_understood=(*odd, *explained.not_understood),
    )


def _with_suggestions(explained: Explained, read: BearingRead) -> Explained:
    """Add standing spellings of the same basic designation: a wrong suffix never leads to another bore."""
    if explained.understood or explained.basic is None:
        return explained
    basic, known = read.found.basic, [piece.text for piece in read.said.pieces if piece.code is not None]
    words = [piece for piece in read.said.unknown if piece.text.isalpha() and len(piece.text) >= _SHORTEST_WORD]
    near = (
        code
        for piece in read.said.unknown
        if piece not in words
        for code in near_codes(piece.text, basic.family.scope, basic.family.groups)
    )
    spelt = (" ".join((basic.name, *known, code)) for code in near)
    hints = (
        f"“{piece.text}” is no suffix known here; a maker's word belongs into the maker column, or into makers.toml"
        for piece in words
    )
    return replace(explained, suggestions=tuple(dict.fromkeys(spelt))[:3], notes=(*explained.notes, *hints))


def _not_understood(text: str, *, seek_near: bool) -> Explained:
    """Return the text as not understood, with standing designations near it; of an interstate number, its ISO name."""
    return Explained(
        input=text,
        understood=False,
        not_understood=(text.strip(),),
        suggestions=tuple(dict.fromkeys(_suggestions(text))) if seek_near else (),
        spans=((len(text) - len(text.lstrip()), len(text.rstrip())),),
    )


def _suggestions(text: str) -> Iterator[str]:
    from screener.parts.ranking import rank_readings

    iso = iso_for_interstate(normalise(text))
    if iso is not None and _explain(iso).understood:
        yield iso
    # Words and long article numbers stand near nothing; looking costs time in a column of them.
    if sum(char.isdigit() for char in text) >= _FEWEST_DIGITS and len(text) <= _LONGEST_NOISY:
        yield from (reading.designation for reading in rank_readings(text, limit=4, max_cost=1.6))
