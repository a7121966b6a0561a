from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.metrology.temperature import correction_mm, temperature_component


@pytest.mark.parametrize(
    ("size_mm", "kelvin", "micrometres"),
    [(25, 5, 1.5), (25, 20, 6.0), (52, 5, 3.1), (52, 10, 6.2), (110, 20, 26.4)],  # computed with 12e-6 per K
)
def test_steel_grows(size_mm: float, kelvin: float, micrometres: float) -> None:
    assert -1000 * correction_mm(size_mm, 20 + kelvin) == pytest.approx(micrometres, abs=0.06)


@given(st.floats(min_value=1, max_value=500), st.floats(min_value=-20, max_value=120))
def test_a_warm_part_is_smaller_at_20_degrees(size_mm: float, temperature_c: float) -> None:
    correction = correction_mm(size_mm, temperature_c)
    assert (correction <= 0) == (temperature_c >= 20)
    assert correction_mm(size_mm, 20) == 0
    assert correction_mm(size_mm, None) == 0


@given(st.floats(min_value=1, max_value=500), st.floats(min_value=10, max_value=30))
def test_telling_the_temperature_never_makes_it_less_sure(size_mm: float, temperature_c: float) -> None:
    told, untold = temperature_component(size_mm, temperature_c), temperature_component(size_mm, None)
    assert told.u <= untold.u


def test_a_known_temperature_is_less_sure_far_from_20() -> None:
    assert temperature_component(100, 80).u > temperature_component(100, 22).u
