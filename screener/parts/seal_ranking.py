"""Noisy readings of seal sizes: ``35X52X7`` with look-alikes, lost times signs, type letters and materials around."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from screener.parts.look_alikes import bare, classed, distance
from screener.parts.text import number_text
from screener.specs.seals import seal_sizes

_MATERIALS = ("NBR", "FKM", "FPM", "HNBR", "ACM", "VMQ", "EPDM", "PTFE")
_TYPES = ("TC", "SC", "TB", "SB", "TA", "SA", "AS", "BS", "CS", "A", "B", "C", "VC", "TG")
_TO_DIGIT = str.maketrans("OQDIL|ZSBGT", "00011125867")
_LOOSE_TRIPLE = re.compile(r"(\d{1,3}(?:\.\d)?)X(\d{1,3}(?:\.\d)?)X(\d{1,2}(?:\.\d{1,2})?)$")
_UNLISTED = 0.4


@cache
def _sizes() -> dict[str, list[str]]:
    """Return standard sizes by look-alike key, with and without times signs, whole and with one character left out."""
    found: dict[str, list[str]] = {}
    for row in seal_sizes():
        size = row.size.upper()
        for key in {classed(bare(size)), classed(bare(size)).replace("X", "")}:
            for near in {key, *(key[:place] + key[place + 1 :] for place in range(len(key)))}:
                found.setdefault(near, []).append(size)
    return found


def seal_candidates(text: str, max_cost: float) -> Iterator[tuple[str, float]]:
    """Yield (spelling, cost) of seals a normalised reading may stand for; none unless it looks like a size."""
    read = bare(text)
    if sum(char.isdigit() for char in read) < 3 or len(read) > 24:
        return
    for kind, material, body in _bodies(read):
        words = 0.02 * (bool(kind) + bool(material))
        for size, cost in _near_sizes(body, max_cost - words):
            yield _written(kind, size, material), cost + words
        loose = body.translate(_TO_DIGIT)
        hit = _LOOSE_TRIPLE.match(loose)
        if hit is not None and _possible(*map(float, hit.groups())):
            cost = distance(body, loose, max_cost) + _UNLISTED
            if cost <= max_cost:
                size = "X".join(number_text(float(part)) for part in hit.groups())
                yield _written(kind, size, material), cost + words


def _possible(shaft_mm: float, housing_mm: float, width_mm: float) -> bool:
    return 0 < shaft_mm < housing_mm <= 2.5 * shaft_mm + 20 and 0 < width_mm <= 30 and width_mm < housing_mm


def _bodies(read: str) -> Iterator[tuple[str, str, str]]:
    """Yield (type letters, material, the rest) for every way to take words off the ends."""
    key = classed(read)
    for material in ("", *_MATERIALS):
        if material and not key.endswith(classed(material)):
            continue
        inner = read[: len(read) - len(material)]
        for kind in ("", *_TYPES):
            if kind and not classed(inner).startswith(classed(kind)):
                continue
            yield kind, material, inner[len(kind) :]


def _near_sizes(body: str, max_cost: float) -> Iterator[tuple[str, float]]:
    key = classed(body)
    keys = {key, *(key[:place] + key[place + 1 :] for place in range(len(key)))} if len(key) <= 12 else {key}
    for size in {size for near in keys for size in _sizes().get(near, ())}:
        cost = distance(body, bare(size), max_cost)
        if cost <= max_cost:
            yield size, cost


def _written(kind: str, size: str, material: str) -> str:
    return " ".join(part for part in (kind, size.lower(), material) if part)
