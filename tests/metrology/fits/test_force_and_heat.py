"""Press force, stress, heating, cooling, creep, compounds."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.fits.case import SeatGiven
from screener.metrology.fits.creep import creep, needed_by_load_um
from screener.metrology.fits.heating import ceilings, heating
from screener.metrology.fits.interference import Interference
from screener.metrology.fits.joints import joint, known_material
from screener.metrology.fits.loose_seat import loose_seat
from screener.metrology.fits.pressing import HOOP_LIMIT_MPA, pressing
from screener.metrology.fits.raceway import raceways
from screener.metrology.fits.span import Span
from screener.parts import explain
from screener.specs.boundary import BoundaryRow, boundary
from screener.specs.fit_limits import compound, compound_rows, heat_rows, seal_speed
from screener.specs.fit_materials import friction, material, materials

STEEL = known_material("steel", "")


def row_of(designation: str) -> BoundaryRow:
    found = boundary(designation)
    assert found is not None
    return found


def of(low: float, high: float) -> Interference:
    span = Span(low, high)
    return Interference(span, span, span.above_zero(), Span(0, 0), ())


def test_press_force_is_friction_times_pressure_times_area() -> None:
    """Technical pages of a catalogue: K = mu P pi d B with 0.12 for pressing on and 0.18 for pulling off.

    6210 (50 x 90 x 20), 20 µm on a solid steel shaft: P = E/2 x delta/d x (1 - (d/Di)²) with Di = (4d + D)/5 = 58 mm.
    """
    row = row_of("6210")
    p = 208e3 / 2 * 0.020 / 50 * (1 - (50 / 58) ** 2)
    by_hand = {mu: mu * p * math.pi * 50 * 20 for mu in (0.12, 0.18)}
    body = joint("shaft", row, raceways(row), SeatGiven(material="bearing steel"))
    found = pressing(body, of(20, 20), row, "oiled")
    assert found is not None
    assert found.pressure_mpa.low == pytest.approx(p, rel=1e-9)
    assert found.force_n.low < by_hand[0.12] < found.force_n.high
    assert found.pull_off_n.low < by_hand[0.18] < found.pull_off_n.high
    oiled = friction("oiled")
    assert oiled is not None
    assert found.force_n.high == pytest.approx(by_hand[0.12] * oiled.high / 0.12)


def test_a_slide_fit_needs_no_force() -> None:
    row = row_of("6210")
    assert pressing(joint("shaft", row, raceways(row), SeatGiven()), of(-10, 0), row, "oiled") is None


def test_an_unknown_state_or_material_is_refused() -> None:
    row = row_of("6210")
    with pytest.raises(WrongUsage, match="oiled, dry"):
        pressing(joint("shaft", row, raceways(row), SeatGiven()), of(5, 10), row, "wet")
    with pytest.raises(WrongUsage, match="aluminium"):
        joint("shaft", row, raceways(row), SeatGiven(material="cheese"))


def test_warnings_where_the_catalogue_ends() -> None:
    """The fits catalogue: interference at most about 1/1000 (another list 0.7/1000), hoop stress at most 127 MPa."""
    row = row_of("6210")
    body = joint("shaft", row, raceways(row), SeatGiven())
    gentle, stiff, wild = (pressing(body, of(x, x), row, "oiled") for x in (15, 40, 60))
    assert gentle is not None
    assert stiff is not None
    assert wild is not None
    assert gentle.warnings == ()
    assert any("between the lists' limits" in each for each in stiff.warnings)
    assert any("over 0.7 to 1" in each for each in wild.warnings)
    assert wild.hoop_stress_mpa.high > HOOP_LIMIT_MPA
    assert any("hoop stress" in each for each in wild.warnings)


um = st.floats(0.1, 80)


@given(um, um)
def test_more_interference_never_takes_less_force_or_heat(a: float, b: float) -> None:
    less, more = sorted((a, b))
    row, part = row_of("6210"), explain("6210")
    body = joint("shaft", row, raceways(row), SeatGiven())
    forces = [pressing(body, of(x / 2, x), row, "oiled") for x in (less, more)]
    heats = [heating(part, 50, of(x / 2, x), 20, STEEL) for x in (less, more)]
    assert forces[0] is not None
    assert forces[1] is not None
    assert forces[0].force_n.high <= forces[1].force_n.high
    assert heats[0] is not None
    assert heats[1] is not None
    assert heats[0].needed_c.low <= heats[1].needed_c.low
    assert heats[0].needed_c.high <= heats[1].needed_c.high


@pytest.mark.parametrize(("bore_mm", "rise_k", "growth_um"), [(25, 60, 18), (50, 60, 36)])
def test_growth_of_a_heated_ring(bore_mm: float, rise_k: float, growth_um: float) -> None:
    """Computed with 12e-6 per K: 25 mm heated from 20 to 80 °C grows 18 µm, 50 mm 36 µm."""
    found = heating(explain("6205"), bore_mm, of(growth_um, growth_um), 20, STEEL)
    assert found is not None
    low = found.needed_c.low - 20
    assert low * 12.5 / 12 == pytest.approx(rise_k, rel=1e-6)


@pytest.mark.parametrize(
    ("designation", "ceiling_c"),
    [
        ("6205", 120),  # open: two catalogues
        ("6205-2RS", 80),  # closed: a catalogue and pages on mounting
        ("6205-2Z", 80),
        ("NU205 P5", 66),  # precision: pages on mounting
        ("6205 TN9", 120),  # polyamide cage: a catalogue, short
    ],
)
def test_ceilings(designation: str, ceiling_c: float) -> None:
    assert ceilings(explain(designation))[0].ceiling_c == ceiling_c


def test_heat_alone_may_not_drop_a_sealed_bearing_on() -> None:
    """Computed: sealed 25 mm to 80 °C grows 18 µm, a k6 seat can have 25 µm; open 50 mm at 110 °C will."""
    sealed = heating(explain("6205-2RS"), 25, of(19, 25), 20, STEEL)
    assert sealed is not None
    assert sealed.drops_on == "no"
    assert "press" in sealed.says
    open_one = heating(explain("6210"), 50, of(2, 30), 20, STEEL)
    assert open_one is not None
    assert open_one.drops_on == "yes"
    assert open_one.cool_shaft_to_c is None


def test_cooling_is_not_calculated_below_the_material_table() -> None:
    found = heating(explain("6205-2RS"), 25, of(30, 45), 20, STEEL)
    assert found is not None
    assert found.cool_shaft_to_c is None
    assert "outside the table" in found.says


@given(um, st.floats(-10, 40), st.floats(-10, 40))
def test_a_colder_room_never_needs_a_hotter_ring(tight: float, a: float, b: float) -> None:
    cold, warm = sorted((a, b))
    low, high = (heating(explain("6205"), 25, of(tight, tight), t, STEEL) for t in (cold, warm))
    assert low is not None
    assert high is not None
    assert low.needed_c.high <= high.needed_c.high


def test_interference_a_load_asks_for() -> None:
    """The fits catalogue: 0.08 sqrt(d Fr/B) µm to 0.3 C0; 0.02 Fr/B above. 40 x 90 x 23 under 5000 N: 7.46 µm."""
    found = needed_by_load_um(40, 23, 5000)
    assert found.low == pytest.approx(0.08 * math.sqrt(40 * 5000 / 23))
    assert found.low == pytest.approx(7.46, abs=0.01)
    assert needed_by_load_um(40, 23, 20000).high == pytest.approx(0.02 * 20000 / 23)


def test_creep_is_told_by_range() -> None:
    row = row_of("6308")
    assert "will not creep" in creep(row, Span(12, 20), 5000, None).says
    assert "may creep" in creep(row, Span(1, 5), 5000, None).says
    assert "can't be told" in creep(row, Span(5, 12), 5000, None).says
    warm = creep(row, Span(12, 20), 5000, 60)  # 0.0015 x 40 x 60 = 3.6 µm lost (fits catalogue)
    assert warm.needed_um.low == pytest.approx(7.46 + 3.6, abs=0.01)


@pytest.mark.parametrize(
    ("gap_mm", "word"),
    [(0.03, "bearing-mount"), (0.05, "bearing-mount"), (0.1, "low-viscosity"), (0.2, "medium"), (0.4, "gap-filling")],
)
def test_compound_classes_by_diametral_gap(gap_mm: float, word: str) -> None:
    """Data sheets of generic classes: 0.05, 0.15, 0.25 and 0.5 mm diametral."""
    row = compound(gap_mm)
    assert row is not None
    assert word in row.compound


def test_no_compound_beyond_its_end() -> None:
    assert compound(0.51) is None
    found = loose_seat(of(-600, -520), None, None)
    assert found.compounds == ()
    assert "Sleeve" in found.says
    assert "0.5 mm" in found.says


def test_a_gap_between_classes_names_both_and_always_says_diametral() -> None:
    found = loose_seat(of(-70, -40), None, 160)
    assert len(found.compounds) == 2
    assert "diametral" in found.says
    assert any("160 °C is above" in caution for caution in found.cautions)


def test_compound_ranges_join_without_holes() -> None:
    rows = compound_rows()
    assert rows[0].gap_over_mm == 0
    assert all(a.gap_up_to_mm == b.gap_over_mm for a, b in pairwise(rows))


def test_tables_of_materials_and_limits_are_sane() -> None:
    """Handbook values (from memory): steel 200 to 215 GPa, aluminium 68 to 75 GPa and 22 to 24e-6 per K."""
    steel, alloy = material("Carbon-Steel"), material("aluminum")
    assert steel is not None
    assert alloy is not None
    assert 200 <= steel.youngs_gpa <= 215
    assert 68 <= alloy.youngs_gpa <= 75
    assert (alloy.alpha_low_1e6_per_k, alloy.alpha_high_1e6_per_k) == (22, 24)
    assert all(0.2 < row.poisson < 0.4 and row.lowest_c < 20 < row.highest_c for row in materials())
    assert all(60 <= row.ceiling_c <= 125 for row in heat_rows())
    assert seal_speed("XYZ") is None
