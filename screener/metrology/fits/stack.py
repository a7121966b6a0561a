"""The stack of a job in millimetres: where each part sits along the shaft and how large it is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from screener.errors import WrongUsage
from screener.metrology.fits.job_card import CardPart, JobCard
from screener.metrology.fits.raceway import raceways
from screener.parts.explaining import explain
from screener.specs.boundary import boundary
from screener.specs.fit_tables import bearing_kind
from screener.specs.orings import oring
from screener.specs.retaining_rings import FOR_BORE, RetainingRingRow, ring_for_bore, ring_for_shaft

_RING_SECTION = 0.11
"""Radial width of a retaining ring as a share of its nominal diameter, for the drawing only (from memory)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One part in the drawing."""

    number: int
    name: str
    kind: str
    size: str
    """The size in words, ``25 x 52 x 15``."""
    left_mm: float
    width_mm: float
    inner_mm: float
    outer_mm: float
    inner_raceway_mm: float | None = None
    outer_raceway_mm: float | None = None
    balls: bool = True
    closed: bool = False
    housing_mm: float | None = None
    """Bore of the housing around it; None where it sits on the shaft only."""
    shaft_mm: float | None = None
    """Shaft that a retaining ring is made for."""
    on_step: bool = False
    """It sits on a step of its own, as the card says."""

    @property
    def right_mm(self) -> float:
        """Where it ends."""
        return self.left_mm + self.width_mm


def stack_of(card: JobCard) -> tuple[Piece, ...]:
    """Return the pieces from left to right.

    Raises
    ------
    WrongUsage
        A part whose size is neither known from its designation nor told.
    """
    pieces: list[Piece] = []
    at_mm = 0.0
    for number, part in enumerate(card.part, start=1):
        _check_sizes(part)
        piece = replace(_piece(part, number, at_mm + part.gap_before_mm), on_step=part.on_step)
        pieces.append(piece)
        at_mm = piece.right_mm
    return tuple(pieces)


def _check_sizes(part: CardPart) -> None:
    for value in (part.inner_mm, part.outer_mm, part.width_mm):
        if value is not None and not 0 < value < 5000:
            raise _unknown(part, f"{value:g} mm cannot be a size")
    if not 0 <= part.gap_before_mm < 5000:
        raise _unknown(part, f"{part.gap_before_mm:g} mm cannot be a gap")


def _piece(part: CardPart, number: int, left_mm: float) -> Piece:
    makers = {
        "bearing": _bearing,
        "shaft_seal": _seal,
        "retaining_ring": _retaining_ring,
        "o_ring": _o_ring,
        "spacer": _plain,
        "other": _plain,
    }
    return makers[part.kind](part, number, left_mm)


def _unknown(part: CardPart, says: str) -> WrongUsage:
    return WrongUsage(
        f"{says}.",
        where=f"part “{part.name}”",
        next_step="Correct its designation, or give inner_mm, outer_mm and width_mm.",
        code="part_size",
    )


def _bearing(part: CardPart, number: int, left_mm: float) -> Piece:
    told = explain(part.designation)
    row = boundary(told.basic) if told.kind == "bearing" and told.basic else None
    if row is None:
        raise _unknown(part, f"“{part.designation}” is no bearing of the tables")
    closed = told.closure is not None and told.closure.kind != "open"
    width_mm, where = row.width_for(closed=closed), raceways(row)
    return Piece(
        number=number,
        name=part.name,
        kind="bearing",
        size=f"{row.bore_mm:g} x {row.od_mm:g} x {width_mm:g}",
        left_mm=left_mm,
        width_mm=width_mm,
        inner_mm=row.bore_mm,
        outer_mm=row.od_mm,
        inner_raceway_mm=where.inner_mm,
        outer_raceway_mm=where.outer_mm,
        balls=bearing_kind(row.family) in {"ball", None},
        closed=closed,
        housing_mm=row.od_mm,
    )


def _seal(part: CardPart, number: int, left_mm: float) -> Piece:
    told = explain(part.designation)
    if told.kind != "shaft_seal" or told.bore_mm is None or told.od_mm is None or told.width_mm is None:
        raise _unknown(part, f"“{part.designation}” is no size of a shaft seal")
    size = f"{told.bore_mm:g} x {told.od_mm:g} x {told.width_mm:g}"
    return Piece(
        number, part.name, "shaft_seal", size, left_mm, told.width_mm, told.bore_mm, told.od_mm, housing_mm=told.od_mm
    )


def _retaining_ring(part: CardPart, number: int, left_mm: float) -> Piece:
    told = explain(part.designation)
    nominal_mm = told.bore_mm if told.bore_mm is not None else told.od_mm
    row: RetainingRingRow | None = None
    if told.kind == "retaining_ring" and nominal_mm is not None:
        row = ring_for_bore(nominal_mm) if FOR_BORE in (told.family or "") + part.designation else None
        row = row or ring_for_shaft(nominal_mm)
    if row is None:
        raise _unknown(part, f"“{part.designation}” is no retaining ring of the tables (DIN 471 25, DIN 472 52)")
    section_mm = _RING_SECTION * row.nominal_mm
    in_bore = row.standard == FOR_BORE
    groove = row.groove_diameter_mm
    return Piece(
        number=number,
        name=part.name,
        kind="retaining_ring",
        size=f"{row.standard} {row.nominal_mm:g} x {row.thickness_mm:g}, groove {groove:g}",
        left_mm=left_mm,
        width_mm=row.thickness_mm,
        inner_mm=groove - 2 * section_mm if in_bore else groove,
        outer_mm=groove if in_bore else groove + 2 * section_mm,
        housing_mm=row.nominal_mm if in_bore else None,
        shaft_mm=None if in_bore else row.nominal_mm,
    )


def _o_ring(part: CardPart, number: int, left_mm: float) -> Piece:
    told = explain(part.designation)
    row = oring(told.basic) if told.kind == "o_ring" and told.basic else None
    inner_mm = row.inner_mm if row is not None else part.inner_mm
    section_mm = row.section_mm if row is not None else part.width_mm
    if inner_mm is None or section_mm is None:
        raise _unknown(part, f"“{part.designation}” is no O-ring of the tables")
    size = f"{inner_mm:g} x {section_mm:g}"
    return Piece(number, part.name, "o_ring", size, left_mm, section_mm, inner_mm, inner_mm + 2 * section_mm)


def _plain(part: CardPart, number: int, left_mm: float) -> Piece:
    if part.inner_mm is None or part.outer_mm is None or part.width_mm is None:
        raise _unknown(part, "Its size is not told")
    if part.inner_mm >= part.outer_mm:
        raise _unknown(part, f"inner_mm {part.inner_mm:g} is not smaller than outer_mm {part.outer_mm:g}")
    size = f"{part.inner_mm:g} x {part.outer_mm:g} x {part.width_mm:g}"
    return Piece(number, part.name, part.kind, size, left_mm, part.width_mm, part.inner_mm, part.outer_mm)
