"""Fields of a printed label from its lines: by key words, by layout, and by what parses. Nothing is made up."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from screener.specs.makers import match_maker
from screener.vision.label_layout import PlacedLine, below, right_of
from screener.vision.label_values import bare_quantity_of, code_of, country_of, date_of, quantity_of
from screener.vision.label_words import KeyHit, label_words, plain
from screener.vision.model import LabelFields

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from screener.parts.model import Found

_DIGITS_ONLY = re.compile(r"[\d ]+")
_NEAR_READING = 0.5


@dataclass(frozen=True, slots=True)
class FieldsRead:
    """The fields, and for each the index of the line it came from."""

    fields: LabelFields
    lines: tuple[tuple[str, int], ...]
    by_key: int
    """How many of them stood behind a key word."""


@dataclass(frozen=True, slots=True)
class _Value:
    """The text behind one key word."""

    field: str
    text: str
    line: int


def read_fields(lines: Sequence[PlacedLine]) -> FieldsRead:
    """Find the fields of a label.

    Parameters
    ----------
    lines
        In reading order, in the label's frame.
    """
    values = [value for index in range(len(lines)) for value in _values_of(index, lines)]
    found: dict[str, tuple[object, int]] = {}
    for value in values:
        meaning = _READERS[value.field](value.text) if value.field in _READERS else None
        if value.field == "order_code" and meaning is not None and designation_in(value.text):
            # "Part no. 6205-2RS": the number is the designation itself.
            continue
        if meaning is not None:
            found.setdefault(value.field, (meaning, value.line))
    by_key = len(found)
    _designation(lines, values, found)
    _by_itself(lines, found)
    _maker(lines, values, found)
    fields = replace(LabelFields(), **{name: value for name, (value, _) in found.items()})  # type: ignore[arg-type]
    return FieldsRead(fields, tuple((name, line) for name, (_, line) in found.items()), by_key)


def _values_of(index: int, lines: Sequence[PlacedLine]) -> list[_Value]:
    """Cut a line at its key words; a key word with nothing behind it takes its neighbour's text."""
    text = lines[index].text
    hits = _true_hits(text)
    values = []
    for place, hit in enumerate(hits):
        end = hits[place + 1].start if place + 1 < len(hits) else len(text)
        behind = text[hit.end : end].strip(" :.;,|")
        if behind:
            values.append(_Value(hit.field, behind, index))
        elif place == len(hits) - 1:
            values += [_Value(hit.field, lines[near].text, near) for near in _neighbours(index, lines)]
    return values


def _true_hits(text: str) -> list[KeyHit]:
    """Key words of a line. One inside a sentence counts only at the beginning or with a mark behind it."""
    flat = plain(text)
    if len(flat) != len(text):
        return []
    hits = label_words().hits(flat)
    true = [hit for hit in hits if hit.marked or not flat[: hit.start].strip() or _after_a_gap(flat, hit)]
    misread = None if true and not flat[: true[0].start].strip() else label_words().misread(flat)
    return [misread, *(hit for hit in true if hit.start >= misread.end)] if misread else true


def _after_a_gap(text: str, hit: KeyHit) -> bool:
    """Tell whether a value seems to have ended before this word: digits, then the word (``10 PCS LOT A1``)."""
    return re.search(r"[0-9][A-Z0-9/.\-]*\s+(?:[A-Z]{2,6}\s+)?$|[|;,/]\s*$", text[: hit.start]) is not None


def _neighbours(index: int, lines: Sequence[PlacedLine]) -> list[int]:
    """Lines right of and below a lone key word, as far as they do not begin with a key word themselves."""
    near = [right_of(lines[index], lines), below(lines[index], lines)]
    return [lines.index(line) for line in near if line is not None and not _begins_with_key(line.text)]


def _begins_with_key(text: str) -> bool:
    hits = _true_hits(text)
    return bool(hits) and hits[0].start == 0


_READERS: dict[str, Callable[[str], object]] = {
    "quantity": quantity_of,
    "batch": code_of,
    "serial": code_of,
    "order_code": code_of,
    "date": date_of,
    "country": country_of,
}


def _designation(lines: Sequence[PlacedLine], values: Sequence[_Value], found: dict[str, tuple[object, int]]) -> None:
    """Take the designation behind its key word, else the largest print that parses as one."""
    named = [value for value in values if value.field in ("designation", "order_code")]
    for value in named:
        text = designation_in(value.text)
        if text:
            found["designation"] = (text, value.line)
            return
    taken = {line for name, (_, line) in found.items() if name != "order_code"}
    free = [index for index in range(len(lines)) if index not in taken]
    candidates = [(lines[index].height, text, index) for index in free if (text := designation_in(lines[index].text))]
    if candidates:
        _, text, index = max(candidates, key=lambda item: item[0])
        found["designation"] = (text, index)


def designation_in(text: str) -> str | None:
    """Return the one designation in a line of print, as printed; a line of digits alone must be short to count.

    Where nothing parses as read, the nearest valid reading is taken if only look-alikes stand between them.
    """
    from screener.parts import find_in_text, rank_readings

    found = [item for item in find_in_text(text) if not _mere_number(item, text)]
    if found:
        return max(found, key=lambda item: item.end - item.start).text.strip()
    if len(text) > 24 or len(re.findall(r"\d", text)) < 3 or ":" in text:
        return None
    near = rank_readings(text, limit=1)
    return near[0].designation if near and near[0].cost <= _NEAR_READING else None


def _mere_number(found: Found, text: str) -> bool:
    """Digits count as a designation only when they are all of the line."""
    return bool(_DIGITS_ONLY.fullmatch(found.text)) and found.text.strip() != text.strip()


def _by_itself(lines: Sequence[PlacedLine], found: dict[str, tuple[object, int]]) -> None:
    """Take what is plain without a key word: ``10 PCS``."""
    for index, line in enumerate(lines):
        number = bare_quantity_of(line.text)
        if number is not None:
            found.setdefault("quantity", (number, index))


def _maker(lines: Sequence[PlacedLine], values: Sequence[_Value], found: dict[str, tuple[object, int]]) -> None:
    """Take a maker known here, else the word behind its key word, else the one large word that is nothing else."""
    for index, line in enumerate(lines):
        match = match_maker(line.text)
        if match is not None:
            found["maker"] = (match.text, index)
            return
    for value in values:
        if value.field == "maker" and (word := _maker_word(value.text)):
            found["maker"] = (word, value.line)
            return
    words = [(line.height, word, index) for index, line in enumerate(lines) if (word := _maker_word(line.text))]
    if words:
        _, word, index = max(words, key=lambda item: item[0])
        if _stands_out(lines[index], lines):
            found["maker"] = (word, index)


def _maker_word(text: str) -> str | None:
    """Return the one word of a line that may be a maker's, when all its other words are known not to be."""
    flat = plain(text)
    words = re.findall(r"[A-ZÀ-Þ][A-ZÀ-Þ&\-]{2,17}", flat)
    if re.search(r"[0-9]", flat) or _true_hits(text) or "/" in flat or "." in flat.strip(". "):
        return None
    stop = label_words()
    other = stop.not_makers | set(stop.countries) | set(stop.months) | set(stop.keys)
    names = [word for word in words if word not in other]
    return names[0] if len(names) == 1 and len(names[0]) >= 4 else None


def _stands_out(line: PlacedLine, lines: Sequence[PlacedLine]) -> bool:
    """Tell whether a line is the topmost or taller than most: so makers print their word."""
    heights = sorted(other.height for other in lines)
    return line.height > 1.15 * heights[len(heights) // 2] or line.top <= min(other.top for other in lines)
