from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest

from screener.specs.boundary import boundary_rows
from screener.specs.iso492 import Ring, tolerance, tolerance_kind, tolerance_rows

Rows = list[dict[str, str]]


@pytest.mark.parametrize(
    ("ring", "accuracy", "size_mm", "lower_um"),
    [
        ("inner", "Normal", 25, -10),  # GOST 520-2011 table 1
        ("inner", "Normal", 30, -10),  # published trap: 30 is still in 18 to 30
        ("inner", "Normal", 35, -12),
        ("outer", "Normal", 52, -13),  # worked example of ISO 14253-1 on an outside diameter 52
        ("outer", "6", 52, -11),
        ("outer", "5", 52, -9),
        ("inner", "5", 350, -23),  # GOST 520-2011; one list prints -25, settled
    ],
)
def test_known_limits(ring: Ring, accuracy: str, size_mm: float, lower_um: float) -> None:
    row = tolerance("radial", ring, accuracy, size_mm)
    assert row is not None
    assert (row.diameter_upper_um, row.diameter_lower_um) == (0, lower_um)


def test_a_second_printed_list_agrees(reference: Callable[[str], Rows]) -> None:
    for outside in reference("iso492_second_list.csv"):
        ring: Ring = "inner" if outside["ring"] == "inner" else "outer"
        row = tolerance("radial", ring, outside["class"], float(outside["up_to_mm"]))
        assert row is not None
        assert row.diameter_lower_um == float(outside["diameter_lower_um"]), outside


def test_usual_widths_are_minus_120_um() -> None:
    """Common practice: usual widths are 0/-0.12 mm; 80 to 120 mm bore -0.2 (some lists lost the sign)."""
    for bore_mm in (5, 12, 25, 50):
        row = tolerance("radial", "inner", "Normal", bore_mm)
        assert row is not None
        assert (row.width_upper_um, row.width_lower_um) == (0, -120)
    wide = tolerance("radial", "inner", "Normal", 100)
    assert wide is not None
    assert wide.width_lower_um == -200


def test_ranges_adjoin_and_limits_widen() -> None:
    groups: dict[tuple[str, str, str], list] = {}
    for row in tolerance_rows():
        groups.setdefault((row.bearing, row.ring, row.accuracy), []).append(row)
    for rows in groups.values():
        for small, large in pairwise(rows):
            assert small.up_to_mm == large.over_mm
            assert large.diameter_lower_um <= small.diameter_lower_um
            assert (
                large.diameter_upper_um - large.diameter_lower_um >= small.diameter_upper_um - small.diameter_lower_um
            )


def test_a_finer_class_is_never_wider() -> None:
    for ring in ("inner", "outer"):
        for size_mm in (1.0, 5, 12, 25, 40, 70, 100, 140, 170, 220, 300, 390):
            found = [tolerance("radial", ring, accuracy, size_mm) for accuracy in ("Normal", "6", "5")]
            lowers = [row.diameter_lower_um for row in found if row is not None]
            assert len(lowers) == 3
            assert lowers == sorted(lowers)


def test_every_usual_bearing_can_be_judged() -> None:
    for row in boundary_rows():
        kind = tolerance_kind(row.family)
        if kind == "radial":
            assert tolerance(kind, "inner", "Normal", row.bore_mm) is not None, row
            assert tolerance(kind, "outer", "Normal", row.od_mm) is not None, row


def test_outside_the_table_is_none() -> None:
    assert tolerance("radial", "inner", "Normal", 5000) is None
    assert tolerance("radial", "inner", "9", 25) is None
    assert tolerance_kind("drawn cup needle roller") is None
    assert tolerance_kind("no such family") is None
