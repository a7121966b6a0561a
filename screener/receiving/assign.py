"""Which photo belongs to which order line: by folder, by file name, or by what is read on it.

What cannot be assigned is listed with the reason; nothing is dropped and nothing is guessed.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING

from screener.parts import compare, explain, find_in_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from screener.looking.reading import PhotoReading
    from screener.parts.model import Explained

_LINE_FOLDER = re.compile(r"^(?:line|pos(?:ition)?|item|zeile|ligne|l|p)?[ _.#-]*0*(\d+)$", re.IGNORECASE)
_LINE_PREFIX = re.compile(r"^(?:line|pos(?:ition)?|item|zeile|ligne|l|p)?[ _.#-]*0*(\d{1,5})[ _.-]", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Unassigned:
    """A photo that belongs to no line as far as can be told."""

    photo: str
    says: str


@dataclass(frozen=True, slots=True)
class Assignment:
    """Photos by item; an item's key is its line, or ``line/box`` where a line's folder holds folders."""

    items: Mapping[str, tuple[str, ...]]
    unassigned: tuple[Unassigned, ...]


@dataclass(frozen=True, slots=True)
class LineToFill:
    """What the assignment needs to know of an order line."""

    line: str
    need: Explained


def line_of_item(item_key: str) -> str:
    """The order line of an item key."""
    return item_key.partition("/")[0]


def assign(photos: Sequence[str], lines: Sequence[LineToFill], readings: Mapping[str, PhotoReading]) -> Assignment:
    """Assign each photo, given as a path relative to the delivery's folder, to one item.

    Every line gets an item, also one without photos: a line nobody photographed must show up as not checked.
    """
    items: dict[str, list[str]] = {line.line: [] for line in lines}
    unassigned: list[Unassigned] = []
    for photo in photos:
        key, says = _item_of(photo, lines, readings.get(photo))
        if key is None:
            unassigned.append(Unassigned(photo, says))
        else:
            items.setdefault(key, []).append(photo)
    return Assignment(_without_empty_parents(items), tuple(unassigned))


def _item_of(photo: str, lines: Sequence[LineToFill], reading: PhotoReading | None) -> tuple[str | None, str]:
    path = PurePath(photo)
    by_path = _by_folder(path, lines) or _by_file_name(path.name, lines)
    if by_path is not None:
        return by_path, ""
    if reading is None or not reading.readable:
        return None, "it could not be read, and neither its folder nor its name gives a line."
    return _by_what_is_read(reading, lines)


def _by_folder(path: PurePath, lines: Sequence[LineToFill]) -> str | None:
    folders = path.parts[:-1]
    for depth, folder in enumerate(folders):
        line = _line_numbered(folder, _LINE_FOLDER, lines) or _only_line_named(folder, lines)
        if line is not None:
            box = "/".join(folders[depth + 1 :])
            return f"{line}/{box}" if box else line
    return None


def _by_file_name(name: str, lines: Sequence[LineToFill]) -> str | None:
    return _line_numbered(name, _LINE_PREFIX, lines) or _only_line_named(PurePath(name).stem, lines)


def _line_numbered(text: str, pattern: re.Pattern[str], lines: Sequence[LineToFill]) -> str | None:
    found = pattern.match(text)
    if found is None:
        return next((x.line for x in lines if x.line.casefold() == text.casefold()), None)
    return next((x.line for x in lines if x.line.lstrip("0") == found.group(1).lstrip("0")), None)


def _only_line_named(text: str, lines: Sequence[LineToFill]) -> str | None:
    """The one line whose need is written in a folder or file name, such as ``6205-2RS_face1``."""
    for found in find_in_text(text.replace("_", " ")):
        fitting = lines_fitting(found.explained, lines)
        if len(fitting) == 1:
            return fitting[0]
    return None


def _by_what_is_read(reading: PhotoReading, lines: Sequence[LineToFill]) -> tuple[str | None, str]:
    read = list(_designations_read(reading))
    candidates: dict[str, None] = {}
    for text in read:
        candidates |= dict.fromkeys(lines_fitting(explain(text), lines))
    if len(candidates) == 1:
        return next(iter(candidates)), ""
    if candidates:
        return None, f"what is read on it ({', '.join(read)}) fits lines {', '.join(candidates)}."
    if read:
        return None, f"what is read on it ({', '.join(read)}) fits no line of the order."
    return None, "nothing on it names a part, and neither its folder nor its name gives a line."


def _designations_read(reading: PhotoReading) -> Iterable[str]:
    seen = [c.fields.designation for c in reading.codes]
    if reading.label is not None:
        seen.append(reading.label.fields.designation)
    seen += [p.designation.text for p in reading.parts if p.designation is not None]
    return dict.fromkeys(text for text in seen if text)


def lines_fitting(offered: Explained, lines: Sequence[LineToFill]) -> list[str]:
    """Lines whose need is the same; failing that, of the same size: a wrong variant still belongs to its line."""
    if not offered.understood:
        return []
    same = [x.line for x in lines if x.need.understood and compare(x.need, offered).outcome in {"same", "suits"}]
    return same or [x.line for x in lines if _same_size(x.need, offered)]


def _same_size(need: Explained, offered: Explained) -> bool:
    sizes = [(e.kind, e.bore_mm, e.od_mm, e.width_mm) for e in (need, offered)]
    return need.understood and sizes[0] == sizes[1]


def _without_empty_parents(items: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    """Drop a line's own empty item where boxes below it have photos."""
    children: dict[str, int] = defaultdict(int)
    for key in items:
        if "/" in key:
            children[line_of_item(key)] += 1
    return {key: tuple(photos) for key, photos in items.items() if photos or not children[key]}
