"""Photos with their regions marked: an outline and a number each, told apart by line and number, not by colour."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from screener.reports.observed_rows import numbers_say
from screener.reports.small_photo import small_photo
from screener.screening.model import Finding, Observation, Point, ScreenedItem

Line = Literal["contradiction", "question", "note"]
_LETTER_SHARE = 0.032
"""Height of a number as a share of the longer side: legible on a phone and on paper."""
_CROWDED = 6
_HEAVIER: dict[Line, int] = {"note": 0, "question": 1, "contradiction": 2}


@dataclass(frozen=True, slots=True)
class Region:
    """An outline in a photo. Lengths are pixels of the upright photo."""

    points: str
    """As an SVG polygon takes them."""
    label: str
    """Numbers of the observations made there: ``2, 5``."""
    line: Line
    """How it is drawn: the weight of the heaviest finding that points at it; ``note`` also where none does."""
    label_x: float
    label_y: float
    label_width: float


@dataclass(frozen=True, slots=True)
class Figure:
    """One photo of an item. Without ``uri`` it could not be shown."""

    name: str
    uri: str = ""
    width_px: int = 0
    height_px: int = 0
    letter_px: float = 0.0
    """Height of the numbers, in pixels of the upright photo."""
    regions: tuple[Region, ...] = ()


def figures_of(
    screened: ScreenedItem,
    numbers: Mapping[str, int],
    photo: Callable[[str], bytes | None],
    longest_side_px: int,
) -> list[Figure]:
    """Return the photos of an item in the order taken, with what was observed in each marked.

    Parameters
    ----------
    screened
        The item; its observations say in which photo and region they were made.
    numbers
        Number of each observation by key; one without a number is not drawn.
    photo
        Gives the bytes by SHA-256 or name.
    longest_side_px
        Of the pictures on the page.
    """
    lines = _lines_by_observation(screened.findings)
    figures = []
    for name, sha256 in _photos_of(screened):
        here = [each for each in screened.item.observations if each.key in numbers and _is_in(each, name, sha256)]
        content = (photo(sha256) if sha256 else None) or photo(name)
        figures.append(_figure(name, content, here, numbers, lines, longest_side_px))
    return figures


def figures_at(
    screened: ScreenedItem, numbers: Mapping[str, int], places: Mapping[str, tuple[str, int, int]]
) -> list[Figure]:
    """Return the photos of an item as `figures_of`, for a page that fetches the pictures itself.

    Parameters
    ----------
    screened, numbers
        As for `figures_of`.
    places
        Address, width and height in pixels of each upright photo, by its name; a photo without them is left out.
    """
    lines = _lines_by_observation(screened.findings)
    figures = []
    for name, sha256 in _photos_of(screened):
        if name in places:
            here = [each for each in screened.item.observations if each.key in numbers and _is_in(each, name, sha256)]
            figures.append(_marked(name, places[name], here, numbers, lines))
    return figures


def _photos_of(screened: ScreenedItem) -> list[tuple[str, str]]:
    """Return (name, SHA-256) of each photo; the hash is empty if no observation gives it."""
    names = dict.fromkeys(screened.item.photos, "")
    for each in screened.item.observations:
        if each.source.photo_sha256:
            names[each.source.where] = each.source.photo_sha256
    return list(names.items())


def _is_in(observation: Observation, name: str, sha256: str) -> bool:
    source = observation.source
    return bool(source.region_px) and (source.where == name or bool(sha256 and source.photo_sha256 == sha256))


def _lines_by_observation(findings: Sequence[Finding]) -> dict[str, Line]:
    lines: dict[str, Line] = {}
    for finding in findings:
        for key in finding.observations:
            lines[key] = max(lines.get(key, "note"), finding.weight, key=_HEAVIER.__getitem__)
    return lines


def _figure(
    name: str,
    content: bytes | None,
    observations: Sequence[Observation],
    numbers: Mapping[str, int],
    lines: Mapping[str, Line],
    longest_side_px: int,
) -> Figure:
    picture = small_photo(content, longest_side_px) if content else None
    if picture is None:
        return Figure(name)
    return _marked(name, (picture.uri, picture.width_px, picture.height_px), observations, numbers, lines)


def _marked(
    name: str,
    place: tuple[str, int, int],
    observations: Sequence[Observation],
    numbers: Mapping[str, int],
    lines: Mapping[str, Line],
) -> Figure:
    uri, width, height = place
    crowded = len({each.source.region_px for each in observations}) > _CROWDED
    letter = max(width, height) * (_LETTER_SHARE * 0.7 if crowded else _LETTER_SHARE)
    regions = tuple(_regions(observations, numbers, lines, letter, (width, height)))
    return Figure(name, uri, width, height, letter, regions)


def _regions(
    observations: Sequence[Observation],
    numbers: Mapping[str, int],
    lines: Mapping[str, Line],
    letter: float,
    size: tuple[int, int],
) -> list[Region]:
    by_outline: dict[tuple[Point, ...], list[Observation]] = {}
    for each in observations:
        by_outline.setdefault(each.source.region_px, []).append(each)
    taken: list[tuple[float, float, float]] = []
    regions = []
    for outline, there in by_outline.items():
        label = numbers_say([numbers[each.key] for each in there])
        width = letter * (0.62 * len(label) + 0.7)
        x, y = _free_place(outline, width, letter, size, taken)
        taken.append((x, y, width))
        line = max((lines.get(each.key, "note") for each in there), key=_HEAVIER.__getitem__)
        points = " ".join(f"{px:.1f},{py:.1f}" for px, py in outline)
        regions.append(Region(points, label, line, x, y, width))
    return regions


def _free_place(
    outline: Sequence[Point],
    width: float,
    letter: float,
    size: tuple[int, int],
    taken: Sequence[tuple[float, float, float]],
) -> tuple[float, float]:
    """Return the upper left corner of a label: left of a line of text, on top of anything higher, clear of others."""
    height = letter * 1.35
    top_x, top_y = min(outline, key=lambda point: point[1])
    left = min(x for x, _ in outline)
    bottom = max(y for _, y in outline)
    is_line = bottom - top_y < 4 * height
    x, y = (left - width, (top_y + bottom - height) / 2) if is_line else (top_x - width / 2, top_y - height)
    x = min(max(x, 0.0), max(size[0] - width, 0.0))
    y = min(max(y, 0.0), max(size[1] - height, 0.0))
    while any(abs(y - ty) < height and x < tx + tw and tx < x + width for tx, ty, tw in taken):
        y += height * 1.05
    return x, y
