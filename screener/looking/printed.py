"""Round print on a box is no part: letters, logos and the bull's-eye of a code look like rings."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from screener.codes.model import CodeRead
    from screener.vision.model import LabelSeen, PartSeen, Point


def not_printed(
    parts: tuple[PartSeen, ...], codes: tuple[CodeRead, ...], label: LabelSeen | None
) -> tuple[PartSeen, ...]:
    """Return the parts whose centre lies outside the box that holds all print of the photo.

    A part lying on its label, larger than all of its print, is kept.
    """
    points = list(_print(codes, label))
    if not points:
        return parts
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    top, bottom = min(y for _, y in points), max(y for _, y in points)

    def is_print(part: PartSeen) -> bool:
        ring = part.outer_ellipse_px
        inside = left <= ring.cx <= right and top <= ring.cy <= bottom
        return inside and 2 * ring.a < max(right - left, bottom - top)

    return tuple(p for p in parts if not is_print(p))


def _print(codes: tuple[CodeRead, ...], label: LabelSeen | None) -> Iterator[Point]:
    for code in codes:
        yield from code.corners_px
    for line in label.lines if label is not None else ():
        yield from line.region_px
