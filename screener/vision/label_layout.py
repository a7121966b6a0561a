"""Where lines stand on a label: rows, right neighbours, lines below. Plain geometry in the label's own frame."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.vision.model import Point

_SAME_ROW = 0.5
_FARTHEST_RIGHT = 12.0
_FARTHEST_BELOW = 1.4
_SQUARE = 1.6
_STEEP_DEG = 50.0


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A line of text with its box in the label's frame (x along the text, y downward), in pixels."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    @property
    def height(self) -> float:
        """Of the text line."""
        return self.bottom - self.top


def text_axis_deg(quads: Sequence[tuple[Point, ...]]) -> float:
    """Return the axis, in [0, 180), along which most of the text runs, weighted by length; forth and back are one."""
    x = sum(math.dist(quad[0], quad[1]) * math.cos(2 * math.radians(_angle_deg(quad))) for quad in quads)
    y = sum(math.dist(quad[0], quad[1]) * math.sin(2 * math.radians(_angle_deg(quad))) for quad in quads)
    return math.degrees(math.atan2(y, x)) / 2 % 180.0


def share_along(quads: Sequence[tuple[Point, ...]], axis_deg: float, within_deg: float = 12.0) -> float:
    """Return the share of text, by length, that runs along one axis: print on a flat label does, ring text does not."""
    lengths = [math.dist(quad[0], quad[1]) for quad in quads]
    off = [abs((_angle_deg(quad) - axis_deg + 90.0) % 180.0 - 90.0) for quad in quads]
    total = sum(lengths)
    return sum(n for n, d in zip(lengths, off, strict=True) if d <= within_deg) / total if total else 0.0


def runs_against(quad: tuple[Point, ...], direction_deg: float) -> bool:
    """Tell whether a line runs backwards in the frame of the given direction."""
    return abs(_off_deg(quad, direction_deg)) > 90.0


def runs_across(quad: tuple[Point, ...], direction_deg: float) -> bool:
    """Tell whether a line runs up or down in the frame of the given direction, as a maker's word beside a label may."""
    return _STEEP_DEG < abs(_off_deg(quad, direction_deg)) < 180.0 - _STEEP_DEG


def along(quad: tuple[Point, ...], direction_deg: float) -> tuple[Point, ...]:
    """Return the corners begun at the one that makes the line run in the direction.

    A line across the direction stays as it is unless its box is about square: then nobody can tell which way it runs.
    """
    across = math.dist(quad[0], quad[3]) / max(math.dist(quad[0], quad[1]), 1e-6)
    square = 1 / _SQUARE < across < _SQUARE
    if not square and runs_across(quad, direction_deg):
        return quad
    steps = (0, 1, 2, 3) if square else (0, 2)
    turned = [(*quad[step:], *quad[:step]) for step in steps]
    return min(turned, key=lambda corners: abs(_off_deg(corners, direction_deg)))


def place(text: str, quad: tuple[Point, ...], direction_deg: float) -> PlacedLine:
    """Put a line into the frame that is turned so that the text runs along +x."""
    cosine, sine = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    xs = [x * cosine + y * sine for x, y in quad]
    ys = [y * cosine - x * sine for x, y in quad]
    # Means of the ends rather than extremes: the box of a slightly slanted line would cover its neighbours.
    return PlacedLine(text, (xs[0] + xs[3]) / 2, (ys[0] + ys[1]) / 2, (xs[1] + xs[2]) / 2, (ys[2] + ys[3]) / 2)


def right_of(line: PlacedLine, others: Sequence[PlacedLine]) -> PlacedLine | None:
    """Return the nearest line to the right in the same row, if it is near enough to belong to it."""
    row = [o for o in others if o is not line and o.left > line.right - line.height / 2 and _same_row(line, o)]
    nearest = min(row, key=lambda o: o.left, default=None)
    return nearest if nearest and nearest.left - line.right < _FARTHEST_RIGHT * line.height else None


def below(line: PlacedLine, others: Sequence[PlacedLine]) -> PlacedLine | None:
    """Return the line just below that begins under this one."""
    under = [o for o in others if o is not line and o.top > line.top + line.height / 2 and _under(line, o)]
    nearest = min(under, key=lambda o: o.top, default=None)
    limit = _FARTHEST_BELOW * max(line.height, nearest.height) if nearest else 0.0
    return nearest if nearest and nearest.top - line.bottom < limit else None


def _off_deg(quad: tuple[Point, ...], direction_deg: float) -> float:
    return (_angle_deg(quad) - direction_deg + 180.0) % 360.0 - 180.0


def _angle_deg(quad: tuple[Point, ...]) -> float:
    return math.degrees(math.atan2(quad[1][1] - quad[0][1], quad[1][0] - quad[0][0]))


def _same_row(one: PlacedLine, other: PlacedLine) -> bool:
    overlap = min(one.bottom, other.bottom) - max(one.top, other.top)
    return overlap > _SAME_ROW * min(one.height, other.height)


def _under(line: PlacedLine, other: PlacedLine) -> bool:
    overlap = min(line.right, other.right) - max(line.left, other.left)
    aligned = abs(line.left - other.left) < 2 * line.height or overlap > _SAME_ROW * (line.right - line.left)
    return overlap > 0 and aligned
