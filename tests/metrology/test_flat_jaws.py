from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.metrology.flat_jaws import flat_from_known_bore_mm, flat_jaw_error_mm


@pytest.mark.parametrize(
    ("bore_mm", "flat_mm", "error_mm"),
    [(5, 0.3, 0.009), (5, 0.8, 0.064), (5, 1.0, 0.101), (8, 0.5, 0.016), (10, 1.0, 0.050), (15, 0.8, 0.021)],
)
def test_computed_table(bore_mm: float, flat_mm: float, error_mm: float) -> None:
    """Chord of a circle, computed by hand: D - sqrt(D² - w²)."""
    assert flat_jaw_error_mm(bore_mm, flat_mm) == pytest.approx(error_mm, abs=0.0006)


def test_a_public_example_is_explained() -> None:
    """A public question: a caliper shows 4.93 on a 5 mm bearing bore; flats of about 0.8 mm explain it."""
    assert flat_from_known_bore_mm(5.0, 4.93) == pytest.approx(0.83, abs=0.02)


@given(st.floats(min_value=2, max_value=200), st.floats(min_value=0, max_value=1.5))
def test_there_and_back(bore_mm: float, flat_mm: float) -> None:
    read_mm = bore_mm - flat_jaw_error_mm(bore_mm, flat_mm)
    assert flat_from_known_bore_mm(bore_mm, read_mm) == pytest.approx(flat_mm, abs=1e-4)


@given(st.floats(min_value=3, max_value=200), st.floats(min_value=0.1, max_value=1.0))
def test_small_bores_suffer_most(bore_mm: float, flat_mm: float) -> None:
    assert flat_jaw_error_mm(bore_mm, flat_mm) > flat_jaw_error_mm(bore_mm * 1.5, flat_mm) > 0
    # Independent form of the same geometry: D (1 - cos(asin(w/D))).
    assert flat_jaw_error_mm(bore_mm, flat_mm) == pytest.approx(
        bore_mm * (1 - math.cos(math.asin(flat_mm / bore_mm))), rel=1e-6
    )


def test_impossible_cases_do_not_break() -> None:
    assert flat_jaw_error_mm(0.5, 1.0) == 0.5
    assert flat_from_known_bore_mm(5.0, 5.2) == 0
