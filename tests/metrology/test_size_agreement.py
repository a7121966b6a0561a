from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.metrology.reading import Reading
from screener.metrology.size_agreement import size_agreement
from screener.specs.boundary import boundary_rows

# Distinct standard bores that a caliper must tell apart: from the ISO 15 plan, 1 mm and more apart.
BORES = sorted({row.bore_mm for row in boundary_rows() if row.family == "deep groove ball" and row.bore_mm >= 3})


@pytest.mark.parametrize(
    ("nominal_mm", "read_mm", "verdict"),
    [
        (52, 51.98, "agrees"),
        (52, 52.03, "agrees"),
        (52, 50.0, "differs"),
        (47, 52.0, "differs"),
        (25, 24.97, "agrees"),
        (25.4, 25.0, "differs"),  # an inch bore is no 25 mm bore
    ],
)
def test_a_caliper_settles_the_size(nominal_mm: float, read_mm: float, verdict: str) -> None:
    """Common practice: a caliper settles which size it is."""
    assert size_agreement(nominal_mm, Reading(read_mm, "caliper")).verdict == verdict


def test_a_small_bore_read_short_still_agrees() -> None:
    """The public example: 4.93 shown on a 5 mm bore."""
    found = size_agreement(5, Reading(4.93, "caliper"), use="inside")
    assert found.verdict == "agrees"
    assert "5 mm" in found.says


def test_rubber_is_given_room() -> None:
    """A rubber covered seal for 52 mm measures 52.20 to 52.35 free (three agreeing pages)."""
    found = size_agreement(52, Reading(52.25, "caliper"), use="outside rubber", above_mm=0.35)
    assert found.verdict == "agrees"


@given(st.sampled_from(BORES), st.sampled_from(BORES))
def test_neighbouring_sizes_are_told_apart(true_mm: float, other_mm: float) -> None:
    verdict = size_agreement(other_mm, Reading(true_mm, "caliper")).verdict
    assert verdict == ("agrees" if abs(true_mm - other_mm) < 0.1 else "differs")


@given(st.floats(min_value=3, max_value=300), st.floats(min_value=-2, max_value=2))
def test_the_finer_instrument_never_contradicts(nominal_mm: float, off_mm: float) -> None:
    coarse = size_agreement(nominal_mm, Reading(nominal_mm + off_mm, "vernier")).verdict
    fine = size_agreement(nominal_mm, Reading(nominal_mm + off_mm, "micrometer")).verdict
    if coarse == "differs":
        assert fine == "differs"


def test_scattered_readings_are_too_coarse() -> None:
    scattered = [Reading(value, "caliper") for value in (24.5, 25.5)]
    assert size_agreement(25, scattered).verdict == "cannot_tell"
