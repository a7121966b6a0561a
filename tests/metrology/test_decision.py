from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.metrology.budget import Budget, Component
from screener.metrology.decision import Limits, decide, decide_interval
from screener.metrology.estimate import Estimate

SPEC = Limits(9.95, 10.05, "10.00 ± 0.05")
VALUES = st.floats(min_value=1, max_value=500)
WIDTHS = st.floats(min_value=0, max_value=5)


def measured(mean_mm: float, expanded_mm: float, *, may_read_short: bool = False, short_mm: float = 0.0) -> Estimate:
    budget = Budget((Component("instrument", expanded_mm / 2, "test"),))
    return Estimate(
        mean_mm=mean_mm,
        out_of_round_mm=None,
        readings=1,
        budget=budget,
        below_mm=expanded_mm,
        above_mm=expanded_mm + short_mm,
        instrument="caliper",
        instrument_row="test",
        may_read_short=may_read_short,
    )


@pytest.mark.parametrize(
    ("mean_mm", "verdict"),
    [  # ISO 14253-1 worked out for 10.00 ± 0.05 with U = 0.04; a public page prints "reject" for 10.03: wrong
        (10.00, "conforms"),
        (10.01, "conforms"),
        (10.02, "cannot_tell"),
        (10.03, "cannot_tell"),
        (10.09, "cannot_tell"),
        (10.10, "does_not_conform"),
        (9.99, "conforms"),
        (9.91, "cannot_tell"),
        (9.90, "does_not_conform"),
    ],
)
def test_the_worked_example(mean_mm: float, verdict: str) -> None:
    assert decide(measured(mean_mm, 0.04), SPEC) == verdict


def test_the_worked_example_of_an_outside_diameter() -> None:
    """Outside diameter 52, Normal 0/-13 um, micrometer U = 3 um: 51.985 undecided, 51.983 does not conform."""
    limits = Limits(51.987, 52.0, "iso492")
    assert decide(measured(51.985, 0.003), limits) == "cannot_tell"
    assert decide(measured(51.983, 0.003), limits) == "does_not_conform"
    assert decide(measured(51.993, 0.003), limits) == "conforms"


@given(VALUES, WIDTHS, WIDTHS, VALUES, WIDTHS)
def test_more_uncertainty_never_settles_anything(
    mean_mm: float, expanded_mm: float, more_mm: float, lower_mm: float, span_mm: float
) -> None:
    limits = Limits(lower_mm, lower_mm + span_mm, "test")
    before = decide(measured(mean_mm, expanded_mm), limits)
    after = decide(measured(mean_mm, expanded_mm + more_mm), limits)
    assert after in {before, "cannot_tell"}


@given(VALUES, WIDTHS, VALUES, WIDTHS, WIDTHS)
def test_wider_limits_never_turn_conforming_into_rejected(
    mean_mm: float, expanded_mm: float, lower_mm: float, span_mm: float, more_mm: float
) -> None:
    tight = decide(measured(mean_mm, expanded_mm), Limits(lower_mm, lower_mm + span_mm, "test"))
    loose = decide(measured(mean_mm, expanded_mm), Limits(lower_mm - more_mm, lower_mm + span_mm + more_mm, "test"))
    order = ["does_not_conform", "cannot_tell", "conforms"]
    assert order.index(loose) >= order.index(tight)


@given(VALUES, WIDTHS, VALUES, WIDTHS)
def test_conforming_means_every_open_value_conforms(
    mean_mm: float, expanded_mm: float, lower_mm: float, span_mm: float
) -> None:
    limits = Limits(lower_mm, lower_mm + span_mm, "test")
    ends = [mean_mm - expanded_mm, mean_mm + expanded_mm]
    verdict = decide(measured(mean_mm, expanded_mm), limits)
    inside = [limits.lower_mm - 1e-6 <= value <= limits.upper_mm + 1e-6 for value in ends]
    if verdict == "conforms":
        assert all(inside)
    if verdict == "does_not_conform":
        assert not any(limits.lower_mm <= value <= limits.upper_mm for value in ends)


def test_a_small_bore_is_never_called_too_small() -> None:
    """Common practice: small bores read short with a caliper."""
    limits = Limits(4.992, 5.0, "iso492")
    far_below = measured(4.7, 0.06, may_read_short=True, short_mm=0.1)
    assert decide(far_below, limits) == "cannot_tell"
    too_large = measured(5.2, 0.06, may_read_short=True, short_mm=0.1)
    assert decide(too_large, limits) == "does_not_conform"


def test_an_interval_touching_the_limits_from_inside_conforms() -> None:
    assert decide_interval(9.95, 10.05, SPEC) == "conforms"
    assert decide_interval(9.90, 9.95, SPEC) == "cannot_tell"
