from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.fits.joints import known_material
from screener.metrology.fits.measured_seat import MeasuredSeat, form_words, measure_seat
from screener.metrology.fits.recommended import decide_seat, limits_of
from screener.metrology.reading import Reading
from screener.specs.fit_tables import Seat, form_share

STEEL, ALLOY = known_material("steel", ""), known_material("aluminium", "")


def seat(
    *sections: tuple[float, ...], kind: Seat = "shaft", nominal_mm: float = 25, instrument: str = "micrometer"
) -> MeasuredSeat:
    found = measure_seat(
        kind, nominal_mm, tuple(tuple(Reading(v, instrument) for v in section) for section in sections), STEEL
    )
    assert found is not None
    return found


def test_out_of_round_and_taper_from_two_sections() -> None:
    """Two cross sections: ovality = largest minus smallest in one, taper = difference of the sections (a catalogue)."""
    found = seat((25.010, 25.004), (25.002, 25.000))
    assert found.out_of_round_um is not None
    assert found.taper_um is not None
    assert found.out_of_round_um.low <= 6.0 <= found.out_of_round_um.high
    assert found.taper_um.low <= 6.0 <= found.taper_um.high  # 25.007 and 25.001
    assert found.readings == 4


def test_one_reading_says_what_it_does_not_show() -> None:
    found = seat((25.010,))
    assert found.out_of_round_um is None
    assert found.taper_um is None
    assert any("out-of-round not seen" in note for note in found.notes)
    assert any("taper not seen" in note for note in found.notes)


def test_nothing_measured() -> None:
    assert measure_seat("shaft", 25, (), STEEL) is None
    assert measure_seat("shaft", 25, ((),), STEEL) is None


def test_a_warm_light_alloy_bore_is_referred_to_20_degrees() -> None:
    """52 mm, 10 K warmer, 23e-6 per K: 12.0 µm (steel would be 6.2 µm)."""
    readings = ((Reading(52.022, "bore gauge", 30.0),),)
    alloy, steel = (measure_seat("housing", 52, readings, made_of) for made_of in (ALLOY, STEEL))
    assert alloy is not None
    assert steel is not None
    assert alloy.middle_mm == pytest.approx(52.022 - 0.01196, abs=2e-5)
    assert steel.middle_mm == pytest.approx(52.022 - 0.00624, abs=1.5e-4)  # 11.75e-6 in the table


@pytest.mark.parametrize("value", [2.5, 250.0, 26.5, 23.0, float("nan"), float("inf"), -25.0])
def test_another_size_or_unit_is_refused(value: float) -> None:
    with pytest.raises(WrongUsage, match="cannot be a shaft"):
        seat((value,))


def test_an_instrument_that_is_not_known() -> None:
    with pytest.raises(WrongUsage, match="not known as an instrument"):
        seat((25.0,), instrument="ruler")


def test_a_caliper_never_decides_a_bearing_seat() -> None:
    """ISO 14253-1 with U = 0.04 mm against k5 (9 µm wide) and H7 (30 µm wide): never proven, hardly ever disproven."""
    k5 = limits_of("k5", 25)
    for reading in (24.99, 25.0, 25.01, 25.02):
        assert decide_seat(seat((reading,), instrument="caliper"), k5) == "cannot_tell"
    assert decide_seat(seat((25.2,), instrument="caliper"), k5) == "does_not_conform"


def test_a_micrometer_decides_a_wide_class() -> None:
    """h11 at 35 mm is 160 µm wide: U = 7 µm is plenty."""
    h11 = limits_of("h11", 35)
    assert decide_seat(seat((34.95,), nominal_mm=35), h11) == "conforms"
    assert decide_seat(seat((35.02,), nominal_mm=35), h11) == "does_not_conform"


def test_a_small_bore_is_never_called_too_small_by_a_caliper() -> None:
    found = seat((11.90,), kind="housing", nominal_mm=12, instrument="caliper")
    assert decide_seat(found, limits_of("H7", 12)) == "cannot_tell"


@given(st.lists(st.floats(24.9, 25.1), min_size=1, max_size=6), st.integers(1, 3))
def test_the_range_holds_every_mean_and_more_readings_are_kept(values: list[float], at: int) -> None:
    found = seat(tuple(values[:at]), tuple(values[at:])) if len(values) > at else seat(tuple(values))
    assert found.size_mm.low < found.middle_mm < found.size_mm.high
    assert found.readings == len(values)


def test_form_against_a_share_of_the_tolerance() -> None:
    """A quarter (interstate rule) to a half (other lists) of the diameter tolerance; H8 at 52 is 46 µm: 11.5 to 23."""
    rule = form_share("Normal")
    assert rule is not None
    good = form_words(seat((52.020, 52.021), kind="housing", nominal_mm=52, instrument="bore gauge"), 46, rule)
    bad = form_words(seat((52.000, 52.040), kind="housing", nominal_mm=52, instrument="bore gauge"), 46, rule)
    assert good[0].endswith("within")
    assert "11.5 to 23.0" in good[0]
    assert bad[0].endswith("too much")
