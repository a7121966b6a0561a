from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.estimate import estimate
from screener.metrology.reading import Reading

LENGTHS = st.floats(min_value=1, max_value=400)


def readings(instrument: str, *values: float) -> list[Reading]:
    return [Reading(value, instrument) for value in values]


def test_the_mean_is_that_of_largest_and_smallest() -> None:
    """ISO 492: the mean diameter is half the sum of the largest and the smallest single diameter."""
    found = estimate(readings("micrometer", 51.990, 51.996, 51.995), "outside")
    assert found.mean_mm == pytest.approx(51.993)
    assert found.out_of_round_mm == pytest.approx(0.006)
    assert found.readings == 3


def test_the_budget_names_its_parts() -> None:
    found = estimate(readings("micrometer", 51.990, 51.996), "outside")
    assert [part.name for part in found.budget.components] == ["instrument", "temperature", "repeatability"]
    parts = {part.name: part.u for part in found.budget.components}
    assert parts["instrument"] == 0.0035
    assert parts["temperature"] == pytest.approx(12e-6 * 52 * 5 / math.sqrt(3), rel=1e-3)
    assert parts["repeatability"] == pytest.approx(0.003)  # s = 0.006/√2, over √2
    assert all(part.rests_on for part in found.budget.components)


def test_a_warm_part_is_referred_to_20_degrees() -> None:
    """Computed with 12e-6 per K: 52 mm, 10 K warmer, is 6.2 um too large."""
    found = estimate([Reading(52.0, "micrometer", temperature_c=30)], "outside")
    assert found.mean_mm == pytest.approx(52 - 0.0062, abs=0.0001)


def test_a_caliper_bore_is_open_upwards() -> None:
    """Flat jaws: a 5 mm bore may be read up to 0.1 mm short, never long."""
    found = estimate(readings("caliper", 4.93), "inside")
    assert found.above_mm - found.below_mm == pytest.approx(0.101, abs=0.003)
    assert found.may_read_short
    assert found.lowest_mm < 5.0 < found.highest_mm
    assert any("short" in note for note in found.notes)


def test_a_shop_may_set_its_own_flat() -> None:
    table = estimate(readings("caliper", 10.0), "inside")
    own = estimate(readings("caliper", 10.0), "inside", flat_mm=0.3)
    assert own.above_mm < table.above_mm
    assert own.above_mm - own.below_mm == pytest.approx(0.0045, abs=0.0002)


def test_a_bore_gauge_has_no_flats() -> None:
    found = estimate(readings("bore gauge", 4.997), "inside", flat_mm=1.0)
    assert found.above_mm == found.below_mm
    assert not found.may_read_short


def test_one_reading_says_what_it_missed() -> None:
    found = estimate(readings("caliper", 52.0), "outside", what="outside diameter")
    assert found.out_of_round_mm is None
    assert any("out-of-round not seen" in note for note in found.notes)


@given(st.lists(LENGTHS, min_size=1, max_size=6), st.sampled_from(["caliper", "vernier", "micrometer"]))
def test_the_mean_lies_among_the_readings(values: list[float], instrument: str) -> None:
    found = estimate(readings(instrument, *values), "outside")
    assert min(values) - 1e-9 <= found.mean_mm <= max(values) + 1e-9
    assert found.below_mm > 0
    assert found.lowest_mm < found.mean_mm < found.highest_mm


@given(LENGTHS, st.integers(2, 8))
def test_repeating_never_beats_the_instrument(value: float, count: int) -> None:
    """The instrument's own error is common to all its readings (GUM 3.3.1, a systematic effect)."""
    one = estimate(readings("caliper", value), "outside")
    many = estimate(readings("caliper", *[value] * count), "outside")
    assert many.budget.u == pytest.approx(one.budget.u)


@given(LENGTHS)
def test_a_coarser_instrument_is_less_sure(value: float) -> None:
    order = [estimate(readings(name, value), "outside").below_mm for name in ("micrometer", "caliper", "vernier")]
    assert order == sorted(order)


@pytest.mark.parametrize("value", [0.0, -25.0, math.nan, math.inf])
def test_what_cannot_be_a_reading_is_refused(value: float) -> None:
    with pytest.raises(WrongUsage) as caught:
        estimate(readings("caliper", value), "outside", what="outside diameter")
    assert caught.value.where == "outside diameter"


def test_no_reading_and_unknown_instruments_are_refused() -> None:
    with pytest.raises(WrongUsage):
        estimate([], "outside")
    with pytest.raises(WrongUsage, match="Known: caliper"):
        estimate(readings("ruler", 25.0), "outside")
    with pytest.raises(WrongUsage):
        estimate(readings("bore gauge", 25.0), "outside")


@pytest.mark.parametrize("temperature_c", [1000, -300, math.nan])
def test_impossible_temperatures_are_refused(temperature_c: float) -> None:
    with pytest.raises(WrongUsage, match="temperature"):
        estimate([Reading(52.0, "caliper", temperature_c)], "outside")
