"""What stands beside a bearing designation and is no suffix: a standard's number, a sleeve, the size in millimetres."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from screener.parts.model import Explained
from screener.parts.sizes import Triple, triples

# Standards of bearing types whose numbers stand before the designation ("DIN 625 - 6205").
_STANDARD = re.compile(
    r"(?<![0-9A-Z])(?:DIN|ISO|EN|GOST|GB/?T|JIS ?B?) ?-?"
    r"(?:15|104|355|492|3245|3030|615|616|617|618|620|623|625|628|630|635|636|711|715|720|728|736|5412|276|281|292|297|"
    r"301|520|831|3478|5720|8338|1521|1513)(?:-\d)?(?= |-|/|:|$)[ :\-]*"
)
_ACCESSORY = re.compile(
    r"\+ ?2?(?:A?HX?|HJ|HE|OH|AS|LS|GS|WS|U) ?\d{3,6}(?: ?[A-Z]{1,3}\d?)?(?![0-9])|(?<= )U[234]\d\d(?![0-9])"
)
_AGREES_MM = 0.6


@dataclass(frozen=True, slots=True)
class Beside:
    """A text of the same length with the things beside the designation blanked, and what they were."""

    text: str
    size: Triple | None
    notes: tuple[str, ...]


def read_beside(normal: str) -> Beside:
    """Blank standards, accessories and a written-out size in a normalised text."""
    notes = [f"{hit[0].lstrip('+ ')} goes with it (sleeve or angle ring)" for hit in _ACCESSORY.finditer(normal)]
    masked = _ACCESSORY.sub(_blanks, _STANDARD.sub(_blanks, normal))
    size = next((found for found in triples(masked) if found.sure), None)
    if size is not None:
        masked = masked[: size.start] + " " * (size.end - size.start) + masked[size.end :]
    return Beside(masked, size, tuple(notes))


def with_beside(explained: Explained, beside: Beside) -> Explained:
    """Return the explanation with a remark on the size written beside it; a size that differs is not understood."""
    notes = (*explained.notes, *beside.notes)
    if beside.size is None:
        return replace(explained, notes=notes) if beside.notes else explained
    written = (beside.size.first, beside.size.second, beside.size.third)
    text = explained.input[beside.size.start : beside.size.end]
    pairs = zip(written, (explained.bore_mm, explained.od_mm, explained.width_mm), strict=True)
    if all(known is None or abs(value - known) <= _AGREES_MM for value, known in pairs):
        return replace(explained, notes=(*notes, f"the size written beside it, {text}, agrees"))
    says = f"the size written beside it, {text}, is not that of a {explained.basic}"
    return replace(explained, understood=False, notes=(*notes, says), not_understood=(*explained.not_understood, text))


def _blanks(hit: re.Match[str]) -> str:
    return " " * len(hit[0])
