"""How the marks of a part look, as numbers that do not depend on how far away or how tilted the photo was taken.

Outlines are turned back by the part's own outer ellipse: lengths are shares of the outer radius. Where the reader gives
measures of a mark's quality (stroke, spacing, contrast …) every one of them is taken as it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from math import atan2, cos, hypot, pi, radians, sin
from statistics import median
from typing import Any

from screener.audit.batch.unit import Number

Json = Mapping[str, Any]
_FEWEST_LETTERS = 3
"""A shorter mark is too short for its room for each letter."""


def mark_numbers(looks: Iterable[Json]) -> dict[str, Number]:
    """Return the marks' numbers over all photos of one unit: the median over its marks."""
    found: defaultdict[str, list[float]] = defaultdict(list)
    for part, mark in _marks(looks):
        for name, value in (*_shape(part, mark), *quality_numbers(mark)):
            found[f"mark.{name}"].append(value)
    return {name: Number(median(values)) for name, values in found.items()}


def quality_numbers(mark: Json) -> Iterator[tuple[str, float]]:
    """Yield every number of a mark's ``quality``; a measured one may carry its uncertainty beside its value."""
    for name, given in (mark.get("quality") or {}).items():
        value = given.get("value") if isinstance(given, Mapping) else given
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield str(name), float(value)


def _marks(looks: Iterable[Json]) -> Iterator[tuple[Json, Json]]:
    for look in looks:
        # The first part is the one the photo was taken for.
        for part in (look.get("parts") or ())[:1]:
            for mark in part.get("marks") or ():
                if mark.get("place") != "closure":
                    yield part, mark


def _shape(part: Json, mark: Json) -> Iterator[tuple[str, float]]:
    ellipse, outline = part.get("outer_ellipse_px"), mark.get("region_px") or ()
    if not ellipse or len(outline) < 6 or not ellipse.get("b"):
        return
    points = [_turned_back(x, y, ellipse) for x, y in outline]
    radii = [hypot(x, y) for x, y in points]
    half = len(points) // 2
    first, second = median(radii[:half]), median(radii[half:])
    yield "radius", (first + second) / 2
    yield "height", abs(first - second)
    letters = len(str(mark.get("text", "")).replace(" ", ""))
    if letters >= _FEWEST_LETTERS:
        yield "pitch", _angle_covered(points[:half]) * (first + second) / 2 / letters


def _turned_back(x: float, y: float, ellipse: Json) -> tuple[float, float]:
    """Map a point so that the outer ellipse becomes the unit circle."""
    turn = radians(float(ellipse["angle_deg"]))
    dx, dy = x - ellipse["cx"], y - ellipse["cy"]
    along, across = dx * cos(turn) + dy * sin(turn), dy * cos(turn) - dx * sin(turn)
    return along / ellipse["a"], across / ellipse["b"]


def _angle_covered(points: Sequence[tuple[float, float]]) -> float:
    angles = [atan2(y, x) for x, y in points]
    return sum(abs((b - a + pi) % (2 * pi) - pi) for a, b in pairwise(angles))
