"""No silent extrapolation: just outside its last row every table says that it ends, and so does the whole answer."""

from __future__ import annotations

import csv
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.errors import ScreenerError, WrongUsage
from screener.metrology.fits.as_json import fit_as_json
from screener.metrology.fits.bearing_fit import fit_bearing
from screener.metrology.fits.case import BearingCase, SeatGiven, Temperatures
from screener.metrology.reading import Reading
from screener.specs.boundary import BoundaryRow, boundary_rows
from screener.specs.clearances import clearance
from screener.specs.fit_limits import compound, compound_rows
from screener.specs.fit_materials import materials
from screener.specs.fit_tables import fit_rows, recommended_fits
from screener.specs.iso286 import limit_deviations, standard_tolerance_um
from screener.specs.iso492 import tolerance
from screener.specs.location import specs_folder
from screener.specs.retaining_rings import retaining_rings, ring_for_bore, ring_for_shaft

A_HAIR = 1e-6


def table(name: str) -> list[dict[str, str]]:
    with (specs_folder() / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_iso_286_ends_at_500_mm_and_at_its_grades() -> None:
    assert limit_deviations(500, "h6").lower_um == -40  # ISO 286-1, IT6 over 400 to 500
    for size_mm, zone in ((500 + A_HAIR, "h6"), (0, "h6"), (-25, "h6"), (25, "h99"), (25, "z6")):
        with pytest.raises(WrongUsage, match="do not hold"):
            limit_deviations(size_mm, zone)
    assert standard_tolerance_um(500 + A_HAIR, 7) is None


FAMILY_OF = {"ball": "deep groove ball", "roller": "cylindrical roller", "spherical roller": "spherical roller"}


def test_recommended_classes_end_where_their_last_row_does() -> None:
    """Of every seat, kind of bearing, load case: one hair beyond the largest row there is none of it."""
    for row in fit_rows():
        for kind in FAMILY_OF if row.bearing == "any" else (row.bearing,):
            for turning in row.turning:
                for load in row.loads:
                    same = [
                        each.up_to_mm
                        for each in fit_rows()
                        if each.seat == row.seat
                        and each.bearing in {kind, "any"}
                        and turning in each.turning
                        and load in each.loads
                    ]
                    beyond = max(same) + A_HAIR
                    assert recommended_fits(row.seat, FAMILY_OF[kind], turning, load, beyond) == ()  # type: ignore[arg-type]


def test_clearance_groups_end_where_their_last_row_does() -> None:
    """ISO 5753-1 as tabled: for every family and group, smaller and larger bores have none."""
    found = table("iso5753_clearances.csv")
    largest: dict[tuple[str, str], float] = {}
    for row in found:
        key = (row["bearing"], row["group"])
        largest[key] = max(largest.get(key, 0.0), float(row["bore_up_to_mm"]))
    seen = 0
    for (bearing, group), end_mm in largest.items():
        assert clearance(bearing, end_mm + A_HAIR, group) is None
        assert clearance(bearing, 0, group) is None
        seen += clearance(bearing, end_mm, group) is not None
    assert seen >= 10


def test_tolerances_of_rings_end_where_their_last_row_does() -> None:
    for ring in ("inner", "outer"):
        largest = max(
            float(row["up_to_mm"])
            for row in table("iso492_tolerances.csv")
            if (row["bearing"], row["ring"], row["class"]) == ("radial", ring, "Normal")
        )
        assert tolerance("radial", ring, "Normal", largest) is not None  # type: ignore[arg-type]
        assert tolerance("radial", ring, "Normal", largest + A_HAIR) is None  # type: ignore[arg-type]


def test_retaining_rings_are_of_tabled_sizes_only() -> None:
    sizes = {row.nominal_mm for row in retaining_rings()}
    assert ring_for_shaft(max(sizes) + 1) is None
    assert ring_for_bore(max(sizes) + 1) is None
    assert ring_for_shaft(25.5) is None


def test_compounds_end_at_half_a_millimetre() -> None:
    """Data sheets of generic classes: 0.5 mm is the end."""
    assert compound_rows()[-1].gap_up_to_mm == 0.5
    assert compound(0.5) is not None
    assert compound(0.5 + A_HAIR) is None


@pytest.mark.parametrize("row", materials(), ids=lambda row: row.material)
def test_no_material_is_calculated_beyond_its_temperatures(row: object) -> None:
    name, low, high = row.material, row.lowest_c, row.highest_c  # type: ignore[attr-defined]
    housing = SeatGiven(material=name)
    for at in (low - 0.1, high + 0.1):
        with pytest.raises(WrongUsage, match="outside what can be calculated"):
            fit_bearing(BearingCase("6205", housing=housing, running=Temperatures(40, 40, housing_c=at)))


@pytest.mark.parametrize(
    ("designation", "says"),
    [
        ("6060", "The tables have no row for this load case"),  # bore 300: shaft classes of ball bearings end at 280
        ("618/600", "The tables have no row for this load case"),  # beyond ISO 286 as tabled
    ],
)
def test_a_bearing_beyond_the_tables_is_told_so(designation: str, says: str) -> None:
    fit = fit_bearing(BearingCase(designation, turning="inner", load="normal"))
    assert says in f"{fit.shaft.says} {fit.housing.says}"
    assert fit.outcome == "review"


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(boundary_rows()),
    st.floats(-0.02, 0.04),
    st.floats(-0.04, 0.06),
    st.sampled_from(["inner", "outer", "undefined", "axial"]),
    st.sampled_from(["light", "normal", "heavy", "shock"]),
)
def test_any_bearing_of_the_tables_is_answered_or_refused_in_words(
    row: BoundaryRow, on: float, into: float, turning: str, load: str
) -> None:
    shaft = SeatGiven(((Reading(row.bore_mm + on, "micrometer"),),))
    housing = SeatGiven(((Reading(row.od_mm + into, "bore gauge"),),))
    try:
        fit = fit_bearing(BearingCase(row.designation, shaft, housing, turning=turning, load=load))  # type: ignore[arg-type]
    except ScreenerError as error:
        assert error.next_step  # noqa: PT017
        return
    json.dumps(fit_as_json(fit), allow_nan=False)
    assert fit.outcome != "fits" or not [each for each in fit.against if "looser" not in each]
    assert bool(fit.against) == (fit.outcome != "fits")
