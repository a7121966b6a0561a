from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.estimate import Estimate, estimate
from screener.metrology.fitting_sizes import fitting_seals, fitting_sizes
from screener.metrology.reading import Reading
from screener.specs.boundary import BoundaryRow, boundary_rows


def caliper(bore: float | None = None, od: float | None = None, width: float | None = None) -> dict[str, Estimate]:
    found = {}
    if bore is not None:
        found["bore"] = estimate([Reading(bore, "caliper")], "inside")
    if od is not None:
        found["od"] = estimate([Reading(od, "caliper")], "outside")
    if width is not None:
        found["width"] = estimate([Reading(width, "caliper")], "outside")
    return found


def test_25_52_15_is_a_6205_and_its_sisters() -> None:
    """ISO 15 dimension series 02: 6205, 7205, NU205, 1205 share one size; the commonest comes first."""
    found = fitting_sizes(caliper(24.97, 51.98, 14.95))
    assert found[0].row.designation == "6205"
    names = {size.row.designation for size in found}
    assert {"7205", "NU205", "1205"} <= names
    assert all(size.fits for size in found)
    assert all("boundary_dimensions.csv" in size.rests_on for size in found)


def test_a_wide_one_is_told_from_the_narrow_one() -> None:
    """62205 is 18 mm wide where 6205 is 15 (ISO 15 dimension series 22 and 02)."""
    names = {size.row.designation for size in fitting_sizes(caliper(24.97, 51.98, 17.95))}
    assert "62205" in names
    assert "6205" not in names


def test_a_shielded_miniature_is_found_by_its_closed_width() -> None:
    found = fitting_sizes(caliper(7.96, 15.98, 4.95))
    best = next(size for size in found if size.row.designation == "688")
    assert best.closed
    assert best.fits


def test_two_dimensions_leave_more_open() -> None:
    assert len(fitting_sizes(caliper(25.0, 52.0), at_most=99)) > len(
        fitting_sizes(caliper(25.0, 52.0, 15.0), at_most=99)
    )


def test_nothing_fits_gives_the_nearest_marked_so() -> None:
    found = fitting_sizes(caliper(26.5, 53.3, 14.2))
    assert found
    assert not any(size.fits for size in found)


@settings(max_examples=150)
@given(st.sampled_from(boundary_rows()))
def test_every_row_is_found_from_its_own_size(row: BoundaryRow) -> None:
    found = fitting_sizes(caliper(row.bore_mm, row.od_mm, row.width_mm - 0.05), at_most=99)
    assert row.designation in {size.row.designation for size in found}


@settings(max_examples=100)
@given(st.sampled_from(boundary_rows()))
def test_the_answer_is_ranked(row: BoundaryRow) -> None:
    found = fitting_sizes(caliper(row.bore_mm, row.od_mm))
    assert [round(size.misfit, 2) for size in found] == sorted(round(size.misfit, 2) for size in found)


def test_no_dimension_is_refused() -> None:
    with pytest.raises(WrongUsage):
        fitting_sizes({})
    with pytest.raises(WrongUsage):
        fitting_sizes({"height": estimate([Reading(5, "caliper")], "outside")})


def test_seals_for_a_shaft_and_a_bore() -> None:
    """Common practice: 16x28x7 is a standard size, and any seal of those three dimensions is a candidate."""
    assert fitting_seals(16, 28, 7)[0].row.size == "16x28x7"
    sizes = [seal.row.size for seal in fitting_seals(35, 52)]
    assert {"35x52x7", "35x52x8", "35x52x10"} <= set(sizes)
    assert all(seal.fits for seal in fitting_seals(35, 52))


def test_a_shaft_alone_leaves_its_seals_open_and_a_worn_one_is_still_found() -> None:
    """ISO 6194-1, table of sizes: a shaft of 35 mm takes seals for bores of 50, 52 and 55 mm (from memory)."""
    bores = {seal.row.housing_mm for seal in fitting_seals(34.93)}
    assert {50, 52, 55} <= bores
    assert {seal.row.shaft_mm for seal in fitting_seals(34.93)} == {35}


def test_where_no_seal_fits_the_nearest_are_marked_so() -> None:
    found = fitting_seals(35, 200)
    assert len(found) == 3
    assert not any(seal.fits for seal in found)


@pytest.mark.parametrize("told", [{}, {"width_mm": 7.0}, {"shaft_mm": -35.0}, {"shaft_mm": float("nan")}])
def test_what_cannot_be_a_seat_of_a_seal_is_refused(told: dict[str, float]) -> None:
    with pytest.raises(WrongUsage):
        fitting_seals(**told)


@given(st.floats(5, 300), st.floats(10, 400))
def test_the_nearest_seal_comes_first(shaft_mm: float, housing_mm: float) -> None:
    off = [seal.distance_mm for seal in fitting_seals(shaft_mm, housing_mm)]
    assert [round(each, 3) for each in off] == sorted(round(each, 3) for each in off)
