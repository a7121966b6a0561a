"""A bore written behind the number of a bearing: ``6202-5/8``, ``6202-10`` in sixteenths, ``6203-16MM``."""

from __future__ import annotations

import re

from screener.parts.families import Family

_INCH_MM = 25.4
_SCOPES = frozenset({"dgb", "dgbm", "insert"})
_MARK = r"(?: ?(?:\"|''|INCH(?:ES)?(?![A-Z])|IN(?![A-Z])))?"
_FRACTION = re.compile(
    rf"(?:(?<![0-9A-Z])([1-4])[- ])?(?<!\d)(\d{{1,2}})/(\d{{1,2}})(?![0-9]){_MARK}(?![0-9A-Z]*[A-Z])"
)
_WHOLE_INCHES = re.compile(r"(?<![0-9A-Z])([1-4]) ?(?:\"|''|INCH(?![A-Z]))")
_SIXTEENTHS = re.compile(r" ?- ?(\d{1,2})(?=$|[^0-9A-Z. ]| (?! *MM))")
_INCHES_AND_SIXTEENTHS = re.compile(r" ?- ?([0-4])(0\d|1[0-5])(?=$|[^0-9A-Z.])")
_MILLIMETRES = re.compile(r"(?<![0-9A-Z.,])(\d{1,3}(?:[.,]\d{1,3})?) ?MM(?![A-Z0-9])")


def take_written_bore(text: str, start: int, family: Family) -> tuple[str, float | None]:
    """Return the text with a written bore blanked, and that bore in mm, or the text as it was and None.

    Parameters
    ----------
    text
        Normalised text; the basic designation ends at ``start``.
    family
        Only deep groove and insert bearings are made with other bores than their number says.
    """
    if family.scope not in _SCOPES or start == len(text):
        return text, None
    for find in (_fraction, _inches, _coded, _sixteenths, _millimetres):
        found = find(text, start, family)
        if found is not None:
            hit, bore_mm = found
            return text[: hit.start()] + " " * (hit.end() - hit.start()) + text[hit.end() :], round(bore_mm, 4)
    return text, None


_Found = tuple[re.Match[str], float] | None


def _fraction(text: str, start: int, _family: Family) -> _Found:
    hit = _FRACTION.search(text, start) if "/" in text[start:] else None
    if hit is None:
        return None
    top, bottom = int(hit[2]), int(hit[3])
    if bottom not in {2, 4, 8, 16, 32} or not 0 < top < bottom:
        return None
    return hit, (int(hit[1] or 0) + top / bottom) * _INCH_MM


def _inches(text: str, start: int, _family: Family) -> _Found:
    hit = _WHOLE_INCHES.search(text, start)
    return (hit, int(hit[1]) * _INCH_MM) if hit else None


def _coded(text: str, start: int, family: Family) -> _Found:
    """Find inches and sixteenths of insert bearings: 103 is 1 3/16 inch."""
    hit = _INCHES_AND_SIXTEENTHS.match(text, start) if family.scope == "insert" else None
    return (hit, (int(hit[1]) + int(hit[2]) / 16) * _INCH_MM) if hit else None


def _sixteenths(text: str, start: int, _family: Family) -> _Found:
    hit = _SIXTEENTHS.match(text, start)
    return (hit, int(hit[1]) / 16 * _INCH_MM) if hit and 4 <= int(hit[1]) <= 63 else None


def _millimetres(text: str, start: int, _family: Family) -> _Found:
    hit = _MILLIMETRES.search(text, start)
    return (hit, float(hit[1].replace(",", "."))) if hit else None
