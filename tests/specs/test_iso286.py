from __future__ import annotations

from collections.abc import Callable

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pressfit.tables import GRADES, shaft_deviation

from screener.errors import WrongUsage
from screener.specs.iso286 import limit_deviations, standard_tolerance_um

Rows = list[dict[str, str]]
SIZES = st.floats(min_value=0.5, max_value=500).map(lambda size: round(size, 2))


@given(SIZES, st.sampled_from("defghkmnps"), st.integers(5, 11))
def test_shafts_equal_the_open_package(size_mm: float, letter: str, grade: int) -> None:
    """Oracle: the package pressfit, table-verified by its authors."""
    got = limit_deviations(size_mm, f"{letter}{grade}")
    value = shaft_deviation(size_mm, letter, grade)
    tolerance = standard_tolerance_um(size_mm, grade)
    assert tolerance is not None
    assert value in {got.upper_um, got.lower_um}
    assert got.upper_um - got.lower_um == tolerance


@given(SIZES, st.sampled_from(sorted(GRADES)))
def test_fits_equal_the_open_package(size_mm: float, grade: int) -> None:
    fit = pressfit.fit(f"H{grade}/k6", size_mm)
    hole, shaft = limit_deviations(size_mm, f"H{grade}"), limit_deviations(size_mm, "k6")
    assert (hole.upper_um, hole.lower_um) == (fit.hole_es_um, fit.hole_ei_um)
    assert (shaft.upper_um, shaft.lower_um) == (fit.shaft_es_um, fit.shaft_ei_um)


def test_all_zones_equal_the_printed_standard(reference: Callable[[str], Rows]) -> None:
    """46 classes to 120 mm as typed from PN-EN ISO 286-1:2011 in a public program."""
    wrong = []
    for row in reference("iso286_zones.csv"):
        for size_mm in (float(row["up_to_mm"]), float(row["over_mm"]) + 0.01):
            got = limit_deviations(size_mm, row["zone"])
            if (got.upper_um, got.lower_um) != (float(row["upper_um"]), float(row["lower_um"])):
                wrong.append((row, got))
    assert not wrong


@pytest.mark.parametrize(
    ("size_mm", "zone", "upper_um", "lower_um"),
    [
        (25, "H7", 21, 0),  # published example 25 H7/g6
        (25, "g6", -7, -20),
        (50, "H8", 39, 0),  # published example 50 H8/f7
        (50, "f7", -25, -50),
        (29, "H7", 21, 0),  # published: 29H7 and 29h7
        (29, "h7", 0, -21),
        (45, "H7", 25, 0),  # published: 45 H7
        (30, "k5", 11, 2),  # 30 belongs to 18 to 30, not to 30 to 50
        (35, "k5", 13, 2),
        (40, "m6", 25, 9),
        (280, "M6", -9, -41),  # ISO 286-1: the one hand-rounded cell
        (2, "N9", -4, -29),
        (20, "N9", 0, -52),
    ],
)
def test_published_values(size_mm: float, zone: str, upper_um: float, lower_um: float) -> None:
    got = limit_deviations(size_mm, zone)
    assert (got.upper_um, got.lower_um) == (upper_um, lower_um)


@given(SIZES, st.sampled_from(["d", "e", "f", "g", "h"]), st.integers(5, 11))
def test_holes_mirror_shafts(size_mm: float, letter: str, grade: int) -> None:
    """ISO 286-1: EI = -es for D to H."""
    shaft, hole = limit_deviations(size_mm, f"{letter}{grade}"), limit_deviations(size_mm, f"{letter.upper()}{grade}")
    assert (hole.upper_um, hole.lower_um) == (-shaft.lower_um, -shaft.upper_um)


@given(SIZES, st.integers(4, 11))
def test_a_coarser_grade_is_wider(size_mm: float, grade: int) -> None:
    fine, coarse = standard_tolerance_um(size_mm, grade), standard_tolerance_um(size_mm, grade + 1)
    assert fine is not None
    assert coarse is not None
    assert fine < coarse


@given(SIZES)
def test_letters_rise_through_the_alphabet(size_mm: float) -> None:
    lowers = [limit_deviations(size_mm, f"{letter}6").lower_um for letter in "fgjkmnprs"]
    assert lowers == sorted(lowers)


@pytest.mark.parametrize(
    ("size_mm", "zone"), [(25, "hello"), (25, ""), (600, "h6"), (25, "z6"), (25, "h99"), (0, "h6")]
)
def test_what_is_not_held_is_said(size_mm: float, zone: str) -> None:
    with pytest.raises(WrongUsage) as caught:
        limit_deviations(size_mm, zone)
    assert caught.value.next_step


@given(st.floats(allow_nan=True), st.text(max_size=6))
def test_nothing_else_escapes(size_mm: float, zone: str) -> None:
    try:
        limit_deviations(size_mm, zone)
    except WrongUsage as error:
        assert error.says  # noqa: PT017
