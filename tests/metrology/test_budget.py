from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.metrology.budget import Budget, Component, repeatability

PARTS = st.lists(st.floats(min_value=0, max_value=10), min_size=1, max_size=6)


@given(PARTS)
def test_components_add_in_squares(parts: list[float]) -> None:
    """GUM 5.1.2 for independent inputs; oracle: math.hypot."""
    budget = Budget(tuple(Component("x", part, "test") for part in parts))
    assert budget.u == pytest.approx(math.hypot(*parts))
    assert budget.expanded == 2 * budget.u


@given(PARTS, st.floats(min_value=0, max_value=10))
def test_a_further_component_never_makes_it_surer(parts: list[float], more: float) -> None:
    components = tuple(Component("x", part, "test") for part in parts)
    assert Budget((*components, Component("y", more, "test"))).u >= Budget(components).u


@given(st.lists(st.floats(min_value=1, max_value=100), min_size=2, max_size=10))
def test_repeatability_is_the_standard_deviation_of_the_mean(values: list[float]) -> None:
    """GUM 4.2.3; oracle: the statistics module."""
    part = repeatability(values)
    assert part is not None
    assert part.u == pytest.approx(statistics.stdev(values) / math.sqrt(len(values)))


def test_a_published_example_of_repeatability() -> None:
    """GUM 4.4.3 table 1: twenty temperatures, s(mean) = 0.33 °C."""
    readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]  # fmt: skip
    part = repeatability(readings)
    assert part is not None
    assert part.u == pytest.approx(0.33, abs=0.005)


def test_one_reading_has_no_scatter() -> None:
    assert repeatability([25.0]) is None
