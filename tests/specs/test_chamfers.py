from __future__ import annotations

import pytest

from screener.specs.boundary import boundary_rows
from screener.specs.chamfers import chamfer, chamfer_rows


@pytest.mark.parametrize(
    ("bearing", "r_min_mm", "bore_mm", "radial_mm", "axial_mm"),
    [  # GOST 3478-79 tables 23 and 24, the values of ISO 582
        ("radial", 1.0, 25, 1.5, 3.0),
        ("radial", 0.3, 40, 0.6, 1.0),  # 40 is still "up to 40"
        ("radial", 0.3, 45, 0.8, 1.0),
        ("tapered", 1.0, 25, 1.6, 2.5),
    ],
)
def test_known_rows(bearing: str, r_min_mm: float, bore_mm: float, radial_mm: float, axial_mm: float) -> None:
    row = chamfer(bearing, r_min_mm, bore_mm)  # type: ignore[arg-type]
    assert row is not None
    assert (row.r_max_radial_mm, row.r_max_axial_mm) == (radial_mm, axial_mm)


def test_the_largest_chamfer_exceeds_the_smallest_and_the_fillet_fits() -> None:
    for row in chamfer_rows():
        assert row.r_min_mm < row.r_max_radial_mm <= row.r_max_axial_mm
        assert row.shaft_fillet_max_mm <= row.r_min_mm


def test_every_chamfer_of_the_usual_bearings_has_a_row() -> None:
    for row in boundary_rows():
        if row.family == "deep groove ball" and row.r_min_mm is not None:
            assert chamfer("radial", row.r_min_mm, row.bore_mm) is not None, row


def test_outside_the_table_is_none() -> None:
    assert chamfer("radial", 0.77, 20) is None
    assert chamfer("tapered", 1.0, 5) is not None
