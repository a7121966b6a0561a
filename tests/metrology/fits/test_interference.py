from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.fits.case import BearingCase, SeatGiven
from screener.metrology.fits.interference import (
    Interference,
    SizeKnown,
    fit_kind,
    interference,
    ring_size,
    seat_size,
    smoothing_of,
    widest_gap_um,
)
from screener.metrology.fits.recommended import recommend
from screener.metrology.fits.span import ZERO, Span
from screener.metrology.reading import Reading
from screener.specs.boundary import BoundaryRow, boundary
from screener.specs.fit_tables import Seat


def row_of(designation: str) -> BoundaryRow:
    found = boundary(designation)
    assert found is not None
    return found


def on_class(designation: str, seat: Seat, zone: str) -> Interference:
    """Interference of a Normal class bearing with a seat of a class."""
    row = row_of(designation)
    given_zone = SeatGiven(zone=zone)
    case = BearingCase(designation, shaft=given_zone, housing=given_zone)
    nominal = row.bore_mm if seat == "shaft" else row.od_mm
    size = seat_size(None, recommend(seat, row.family, nominal, case, None))
    ring = ring_size(row, seat, "Normal", ())
    assert size is not None
    assert ring is not None
    return interference(seat, size, ring, "ground")


@pytest.mark.parametrize(
    ("designation", "zone", "least_um", "most_um"),
    [
        ("6206", "k5", 2, 21),  # computed; the trap: bore 30 belongs to 18 to 30
        ("6207", "k5", 2, 25),  # computed
        ("6205", "k6", 2, 25),  # computed; deviations also in printed lists
        ("6208", "m6", 9, 37),  # computed
        # A public page with the national fit table for bearings, clearance as negative interference:
        ("6205", "g6", -20, 3),
        ("6205", "h6", -13, 10),
        ("6205", "j6", -4, 19),
        ("6205", "js6", -6.5, 16.5),
        ("6208", "g6", -25, 3),
        ("6208", "h6", -16, 12),
        ("6208", "js6", -8, 20),
        ("6214", "g6", -29, 5),
        ("6214", "j6", -7, 27),
    ],
)
def test_worked_fits_on_shafts(designation: str, zone: str, least_um: float, most_um: float) -> None:
    found = on_class(designation, "shaft", zone)
    assert (found.widest_um.low, found.widest_um.high) == pytest.approx((least_um, most_um))


@pytest.mark.parametrize(
    ("designation", "zone", "widest", "probable"),
    [  # A public page "Housing tolerances and resultant fits": limits, and the probable values it prints.
        ("6204", "K7", (-18, 18), (-14, 14)),  # OD 47
        ("6206", "M7", (-13, 30), (-8, 25)),  # OD 62
        ("6206", "K7", (-22, 21), (-17, 16)),
    ],
)
def test_worked_fits_in_housings(
    designation: str, zone: str, widest: tuple[float, float], probable: tuple[float, float]
) -> None:
    found = on_class(designation, "housing", zone)
    assert (found.widest_um.low, found.widest_um.high) == pytest.approx(widest)
    assert found.probable_um.low == pytest.approx(probable[0], abs=0.5)
    assert found.probable_um.high == pytest.approx(probable[1], abs=0.5)


def test_smoothing_by_surface() -> None:
    """The fits catalogue: 1.0 to 2.5 µm for ground, 5 to 7 µm for turned shafts."""
    assert smoothing_of("ground")[0] == Span(1.0, 2.5)
    assert smoothing_of("turned")[0] == Span(5.0, 7.0)
    with pytest.raises(WrongUsage, match="ground, turned"):
        smoothing_of("polished")


@pytest.mark.parametrize(("designation", "least_um", "most_um"), [("6206", 10, 20), ("6220", 40, 60)])
def test_effective_interference_against_the_old_rule(designation: str, least_um: float, most_um: float) -> None:
    """An older handbook rule (from memory): effective = d/(d + 2) x apparent for ground shafts; another list says 95 %.

    The rules are crude; for usual interference (about 0.5 in 1000) they must agree within 3 µm.
    """
    row = row_of(designation)
    for apparent_um in (least_um, most_um):
        size = Span(row.bore_mm + apparent_um / 1000, row.bore_mm + apparent_um / 1000)
        bore = Span(row.bore_mm, row.bore_mm)
        found = interference("shaft", SizeKnown(size, True, ""), SizeKnown(bore, True, ""), "ground")
        by_rule = row.bore_mm / (row.bore_mm + 2) * apparent_um
        assert found.effective_um.low - 1.5 <= by_rule <= found.effective_um.high + 0.5
        assert abs(found.effective_um.middle - 0.95 * apparent_um) <= 1.75


sizes = st.floats(-0.05, 0.05)


@given(sizes, sizes)
def test_a_larger_shaft_never_has_less_interference(a: float, b: float) -> None:
    small, large = sorted((a, b))
    bore = SizeKnown(Span(24.99, 25.0), False, "")
    less, more = (
        interference("shaft", SizeKnown(Span(25 + x - 0.007, 25 + x + 0.007), True, ""), bore, "ground")
        for x in (small, large)
    )
    assert less.probable_um.low <= more.probable_um.low + 1e-6
    assert less.effective_um.low <= more.effective_um.low + 1e-6
    assert less.effective_um.high <= more.effective_um.high + 1e-6
    assert less.effective_um.low >= 0


def _of(low: float, high: float) -> Interference:
    return Interference(Span(low, high), Span(low, high), ZERO, ZERO, ())


@pytest.mark.parametrize(
    ("low", "high", "gap_um", "kind"),
    [
        (1, 10, 20, "press"),
        (-2, 10, 20, "transition"),
        (-18, -2, 20, "slide"),
        (-40, -30, 20, "loose"),
        (-10, -2, None, "loose"),
    ],
)
def test_kinds_of_fit(low: float, high: float, gap_um: float | None, kind: str) -> None:
    assert fit_kind(_of(low, high), widest_gap_um=gap_um) == kind


def test_the_widest_gap_is_that_of_the_loosest_class() -> None:
    """6205 in H7: 30 + 13 = 43 µm; in H8: 46 + 13 = 59 µm (ISO 286 and ISO 492)."""
    row = row_of("6205")
    case = BearingCase("6205", turning="inner", load="normal")
    ring = ring_size(row, "housing", "Normal", ())
    assert ring is not None
    assert widest_gap_um("housing", ring, recommend("housing", row.family, 52, case, None)) == pytest.approx(59)


def test_the_ring_measured_replaces_the_standards_limits() -> None:
    found = ring_size(row_of("6205"), "shaft", "Normal", (Reading(24.996, "bore gauge"),))
    assert found is not None
    assert found.measured
    assert found.size_mm.low < 24.996 < found.size_mm.high
    with pytest.raises(WrongUsage, match="not this bearing"):
        ring_size(row_of("6205"), "shaft", "Normal", (Reading(20.0, "bore gauge"),))


def test_no_limits_outside_the_tolerance_tables() -> None:
    assert ring_size(row_of("HK1612"), "shaft", "Normal", ()) is None
