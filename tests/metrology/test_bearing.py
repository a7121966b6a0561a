from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.metrology.bearing import Measurement, accuracy_class, measure_bearing
from screener.metrology.reading import MassReading, Reading
from screener.specs.boundary import BoundaryRow, boundary, boundary_rows


def row_of(designation: str) -> BoundaryRow:
    row = boundary(designation)
    assert row is not None
    return row


def read(instrument: str, *values: float) -> list[Reading]:
    return [Reading(value, instrument) for value in values]


def decided(measurement: Measurement) -> dict[str, str]:
    return {decision.characteristic: decision.verdict for decision in measurement.decisions}


def test_a_caliper_settles_the_size_but_no_diameter_tolerance() -> None:
    """Common practice: caliper for size and some widths, never for bore or outside-diameter tolerance."""
    found = measure_bearing(
        row_of("6205"),
        bore=read("caliper", 24.99, 24.98),
        od=read("caliper", 51.98, 52.0),
        width=read("caliper", 14.94),
        mass=[MassReading(0.128)],
    )
    assert decided(found) == {"bore": "cannot_tell", "outside diameter": "cannot_tell", "width": "conforms"}
    assert found.is_this_size == "agrees"
    assert "internal clearance" in found.not_checked
    assert all("iso492_tolerances.csv" in decision.rests_on for decision in found.decisions)
    assert "can't tell" in found.decisions[0].says


@pytest.mark.parametrize("od_mm", [51.985, 51.993, 52.004])
def test_what_an_instrument_cannot_tell_is_one_sentence_without_a_side(od_mm: float) -> None:
    """ISO 14253-1: 52 mm Normal is 0/-13 µm (ISO 492); within a caliper's uncertainty neither side is an answer."""
    says = measure_bearing(row_of("6205"), od=read("caliper", od_mm)).decisions[0].says
    assert says.endswith(
        ": the size 52 mm agrees; this caliper can't tell whether it is within the limits 51.987 to 52.000 mm"
    )


def test_a_size_that_is_right_and_out_of_tolerance_says_both() -> None:
    """Width 15 0/-0.12 (ISO 492): 15.06 by a caliper is the size and above its limits."""
    says = measure_bearing(row_of("6205"), width=read("caliper", 15.06)).decisions[0].says
    assert says.endswith(": the size 15 mm agrees; above the limits 14.880 to 15.000 mm")


@pytest.mark.parametrize(
    ("width_mm", "verdict"),
    [  # width 15 0/-0.12 with caliper U = 0.04: provable from 14.92 to 14.96 only
        (14.94, "conforms"),
        (14.98, "cannot_tell"),
        (14.88, "cannot_tell"),
        (15.03, "cannot_tell"),
        (15.06, "does_not_conform"),
        (14.80, "does_not_conform"),
    ],
)
def test_the_guard_band_of_a_width(width_mm: float, verdict: str) -> None:
    found = measure_bearing(row_of("6205"), width=read("caliper", width_mm))
    assert decided(found)["width"] == verdict


def test_a_micrometer_at_20_degrees_can_prove_an_outside_diameter() -> None:
    """52 mm Normal is 0/-13 um; with U near 7 um only the middle of the zone is provable."""
    middle = [Reading(51.9935, "micrometer", 20.0), Reading(51.9935, "micrometer", 20.0)]
    low = [Reading(51.970, "micrometer", 20.0), Reading(51.970, "micrometer", 20.0)]
    assert decided(measure_bearing(row_of("6205"), od=low))["outside diameter"] == "does_not_conform"
    assert decided(measure_bearing(row_of("6205"), od=middle))["outside diameter"] == "cannot_tell"
    # A wider zone: 200 mm outside diameter, 0/-30 um.
    large = [Reading(199.985, "micrometer", 20.0), Reading(199.985, "micrometer", 20.0)]
    assert decided(measure_bearing(row_of("6026"), od=large))["outside diameter"] == "conforms"


def test_a_finer_class_has_tighter_limits() -> None:
    for name, lower_mm in (("Normal", 51.987), ("P6", 51.989), ("P5", 51.991)):
        found = measure_bearing(row_of("6205"), od=read("micrometer", 51.995), accuracy=name)
        limits = found.decisions[0].limits
        assert limits is not None
        assert limits.lower_mm == pytest.approx(lower_mm)  # GOST 520-2011: -13, -11, -9 um


def test_class_names() -> None:
    assert [accuracy_class(name) for name in ("", "P0", "normal", "P6", "6", "p5")] == [
        "Normal", "Normal", "Normal", "6", "6", "5",
    ]  # fmt: skip


def test_a_wrong_size_is_found() -> None:
    found = measure_bearing(row_of("6205"), bore=read("caliper", 24.98), od=read("caliper", 61.99))
    assert found.is_this_size == "differs"
    assert "not a size of 52 mm" in found.decisions[1].says


def test_a_small_bore_read_short_is_not_called_too_small() -> None:
    for read_mm in (4.93, 4.90, 4.80):
        found = measure_bearing(row_of("625"), bore=read("caliper", read_mm))
        assert decided(found)["bore"] != "does_not_conform"


def test_a_tapered_bearing_is_judged_by_its_own_rows() -> None:
    """ISO 492: the assembled width T of a small tapered bearing is +0.2/0, not 0/-0.12."""
    found = measure_bearing(row_of("30205"), width=read("caliper", 16.35))
    assert decided(found)["width"] == "conforms"
    low = measure_bearing(row_of("30205"), width=read("caliper", 16.15))
    assert decided(low)["width"] == "does_not_conform"


def test_what_no_table_judges_says_why() -> None:
    cup = measure_bearing(row_of("HK1612"), od=read("micrometer", 22.02))
    assert decided(cup)["outside diameter"] == "cannot_tell"
    assert "pressed into a ring" in cup.decisions[0].says
    naked = measure_bearing(row_of("RNA4904"), bore=read("bore gauge", 25.02))
    assert "no inner ring" in naked.decisions[0].says
    taper = measure_bearing(row_of("1206"), bore=read("bore gauge", 30.0), tapered_bore=True)
    assert "tapered bore" in taper.decisions[0].says
    fine = measure_bearing(row_of("6205"), bore=read("bore gauge", 25.0), accuracy="P2")
    assert "class 2" in fine.decisions[0].says


def test_an_insert_bore_lies_above_nominal() -> None:
    """From memory: insert bearings have plus tolerances on the bore, 25 mm: +18 um / 0."""
    found = measure_bearing(row_of("UC205"), bore=read("bore gauge", 25.009))
    assert decided(found)["bore"] == "conforms"


def test_the_closed_miniature_is_measured_against_its_closed_width() -> None:
    """688: 4 mm open, 5 mm shielded (GOST 3478-79 and a printed list)."""
    wide = read("caliper", 4.95)
    assert measure_bearing(row_of("688"), width=wide, closure_kind="shield").decisions[0].nominal_mm == 5
    assert measure_bearing(row_of("688"), width=wide, closure_kind="open").decisions[0].size == "differs"
    assert measure_bearing(row_of("688"), width=wide).decisions[0].nominal_mm == 5


def test_what_was_not_measured_is_listed() -> None:
    found = measure_bearing(row_of("6205"), bore=read("caliper", 25.0))
    assert {"outside diameter", "width", "mass"} <= set(found.not_checked)
    assert found.is_this_size == "cannot_tell"


@settings(max_examples=200)
@given(
    # Inside jaws do not enter bores under 3 mm.
    st.sampled_from([row for row in boundary_rows() if row.bore_mm >= 3]),
    st.sampled_from(["caliper", "vernier", "micrometer"]),
)
def test_a_perfect_bearing_is_never_rejected(row: BoundaryRow, instrument: str) -> None:
    found = measure_bearing(
        row,
        bore=read(instrument, row.bore_mm),
        od=read(instrument, row.od_mm),
        width=read(instrument, row.width_mm),
        closure_kind="open",
    )
    assert all(decision.verdict != "does_not_conform" for decision in found.decisions)
    assert found.is_this_size == "agrees"
    assert all(decision.rests_on for decision in found.decisions)


@settings(max_examples=200)
@given(
    st.sampled_from([row for row in boundary_rows() if row.od_mm > 10]),
    st.floats(min_value=1.0, max_value=5.0),
    st.sampled_from([-1, 1]),
)
def test_a_millimetre_off_is_never_the_size(row: BoundaryRow, off_mm: float, sign: int) -> None:
    found = measure_bearing(row, od=read("caliper", row.od_mm + sign * off_mm))
    assert found.decisions[0].size == "differs"
    assert found.is_this_size == "differs"
