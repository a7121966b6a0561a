"""The stack of a job as plain shapes in millimetres: what SVG and paper both draw.

The axis of the shaft lies on y = 0, x runs along it; y points down, so the upper half of the section has y < 0.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from screener.metrology.fits.stack import Piece

Look = Literal["shaft", "housing", "part", "ring", "soft", "axis", "note"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle."""

    x: float
    y: float
    width: float
    height: float
    look: Look


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    x: float
    y: float
    radius: float
    look: Look


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line."""

    x1: float
    y1: float
    x2: float
    y2: float
    look: Look


@dataclass(frozen=True, slots=True)
class Word:
    """A short text centred on a point; its height in mm of paper, not of the drawing."""

    x: float
    y: float
    text: str


Shape = Box | Disc | Stroke | Word


@dataclass(frozen=True, slots=True)
class Drawing:
    """The shapes and the room they take, in mm of the real thing."""

    shapes: tuple[Shape, ...]
    left: float
    right: float
    half_height: float


_HOUSING_WALL = 0.16
"""Thickness of the housing drawn around the stack, as a share of its largest radius (its real wall is not drawn)."""
_SHAFT_END = 0.25
"""How far the shaft is drawn beyond the stack, as a share of the stack's length."""


def draw_stack(pieces: tuple[Piece, ...]) -> Drawing:
    """Return the drawing of a stack, at least one piece."""
    first, last = min(each.left_mm for each in pieces), max(each.right_mm for each in pieces)
    over = max(_SHAFT_END * (last - first), 4.0)
    left, right = first - over, last + over
    outer = max((each.housing_mm or each.outer_mm) / 2 for each in pieces)
    wall = _HOUSING_WALL * outer
    shapes: list[Shape] = [*_shaft(pieces, left, right), *_housings(pieces, outer + wall)]
    for piece in pieces:
        for side in (-1.0, 1.0):
            shapes += _piece(piece, side)
        shapes.append(Word((piece.left_mm + piece.right_mm) / 2, -(outer + 1.9 * wall), str(piece.number)))
        shapes.append(_leader(piece, outer + 1.4 * wall))
    shapes.append(Stroke(left - over / 3, 0, right + over / 3, 0, "axis"))
    return Drawing(tuple(shapes), left - over / 2, right + over / 2, outer + 3 * wall)


def _leader(piece: Piece, top: float) -> Stroke:
    middle = (piece.left_mm + piece.right_mm) / 2
    return Stroke(middle, -top, middle, -piece.outer_mm / 2, "note")


def _shaft_diameter(piece: Piece) -> float | None:
    """Shaft under a piece; None where the piece does not sit on the shaft (a ring in the bore, an O-ring outside)."""
    if piece.kind == "retaining_ring" and piece.housing_mm is not None:
        return None
    return piece.inner_mm


def _shaft(pieces: tuple[Piece, ...], left: float, right: float) -> Iterator[Shape]:
    """The shaft in steps: under each piece its bore, between them the smaller neighbour."""
    on_shaft = [(piece, size) for piece in pieces if (size := _shaft_diameter(piece)) is not None]
    if not on_shaft:
        return
    at, before = left, on_shaft[0][1]
    for piece, size in on_shaft:
        if piece.left_mm > at:
            yield _around_axis(at, piece.left_mm, min(before, size), "shaft")
        yield _around_axis(piece.left_mm, piece.right_mm, size, "shaft")
        at, before = piece.right_mm, size
    yield _around_axis(at, right, before, "shaft")


def _around_axis(x1: float, x2: float, diameter: float, look: Look) -> Box:
    return Box(x1, -diameter / 2, x2 - x1, diameter, look)


def _ring(x: float, width: float, inner: float, outer: float, side: float, look: Look) -> Box:
    """One half of a ring in section: the upper for side -1, the lower for 1."""
    y = inner / 2 if side > 0 else -outer / 2
    return Box(x, y, width, (outer - inner) / 2, look)


def _housings(pieces: tuple[Piece, ...], outer_radius: float) -> Iterator[Shape]:
    """The housing from each seat on to the next one, or to its end."""
    seated = [(piece, piece.housing_mm) for piece in pieces if piece.housing_mm is not None]
    ends = [piece.left_mm for piece, _ in seated[1:]] + [piece.right_mm for piece, _ in seated[-1:]]
    for (piece, bore), end in zip(seated, ends, strict=True):
        for side in (-1.0, 1.0):
            yield _ring(piece.left_mm, end - piece.left_mm, bore, 2 * outer_radius, side, "housing")


def _piece(piece: Piece, side: float) -> Iterator[Shape]:
    if piece.kind == "bearing":
        yield from _bearing(piece, side)
    elif piece.kind == "shaft_seal":
        yield from _seal(piece, side)
    elif piece.kind == "o_ring":
        radius = piece.width_mm / 2
        yield Disc(piece.left_mm + radius, side * (piece.inner_mm / 2 + radius), radius, "soft")
    else:
        look: Look = "ring" if piece.kind == "retaining_ring" else "part"
        yield _ring(piece.left_mm, piece.width_mm, piece.inner_mm, piece.outer_mm, side, look)


def _bearing(piece: Piece, side: float) -> Iterator[Shape]:
    inner = piece.inner_raceway_mm or piece.inner_mm
    outer = piece.outer_raceway_mm or piece.outer_mm
    middle, element = (inner + outer) / 4, (outer - inner) / 2
    # Shoulders stand a quarter of the rolling element above the raceway.
    shoulder = element / 2
    yield _ring(piece.left_mm, piece.width_mm, piece.inner_mm, inner + shoulder, side, "part")
    yield _ring(piece.left_mm, piece.width_mm, outer - shoulder, piece.outer_mm, side, "part")
    x = (piece.left_mm + piece.right_mm) / 2
    if piece.balls:
        yield Disc(x, side * middle, element / 2, "part")
    else:
        width = min(element * 1.2, piece.width_mm * 0.7)
        yield Box(x - width / 2, side * middle - element / 2, width, element, "part")
    if piece.closed:
        inset = 0.06 * piece.width_mm
        for edge in (piece.left_mm + inset, piece.right_mm - inset):
            yield Stroke(edge, side * (inner + shoulder) / 2, edge, side * (outer - shoulder) / 2, "soft")


def _seal(piece: Piece, side: float) -> Iterator[Shape]:
    """An L of case and rubber, the lip drawn toward the right; which way it faces is said in the text."""
    case = min(0.18 * (piece.outer_mm - piece.inner_mm) / 2, piece.width_mm / 3)
    yield _ring(piece.left_mm, piece.width_mm, piece.outer_mm - 2 * case, piece.outer_mm, side, "part")
    yield _ring(piece.left_mm, case, piece.inner_mm + 4 * case, piece.outer_mm - 2 * case, side, "part")
    tip_x = piece.left_mm + 0.55 * piece.width_mm
    top = side * (piece.inner_mm / 2 + 2 * case)
    yield Stroke(piece.left_mm + case, top, tip_x, side * piece.inner_mm / 2, "soft")
    yield Stroke(tip_x, side * piece.inner_mm / 2, piece.left_mm + 0.8 * piece.width_mm, top, "soft")
    yield Disc(piece.left_mm + 0.62 * piece.width_mm, side * (piece.inner_mm / 2 + 2.2 * case), 0.5 * case, "soft")
