"""Slips of the pen: an inch is 25.4 mm; sizes are those of ISO 15 (6205: 25 x 52 x 15 mm), about 0.13 kg in lists."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.slips import refuse_kilograms, refuse_slips
from screener.specs.boundary import BoundaryRow, boundary, boundary_rows
from screener.specs.masses import mass_range


def check(bore_mm: tuple[float, ...] = (), od_mm: tuple[float, ...] = (), width_mm: tuple[float, ...] = ()) -> None:
    refuse_slips({"bore": (bore_mm, 25.0), "outside diameter": (od_mm, 52.0), "width": (width_mm, 15.0)})


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        ({"od_mm": (2.0469,)}, "inches (51.991 mm)"),
        ({"bore_mm": (25.0, 0.984)}, "inches (24.994 mm)"),
        ({"od_mm": (5.2,)}, "centimetres, or the point slipped: write 52 mm"),
        ({"width_mm": (150.0,)}, "point slipped: write 15 mm"),
        ({"bore_mm": (52.0,), "od_mm": (25.0,)}, "bore and outside diameter look exchanged"),
    ],
)
def test_a_slip_is_named_with_what_it_looks_like(readings: dict[str, tuple[float, ...]], says: str) -> None:
    with pytest.raises(WrongUsage) as caught:
        check(**readings)
    assert says in str(caught.value)


# Neighbouring sizes of ISO 15 are read as what they are: 6204 is 20 x 47 x 14 mm, 6305 25 x 62 x 17, 6206 30 x 62 x 16.
@pytest.mark.parametrize("size", [(25.0, 52.0, 15.0), (20.0, 47.0, 14.0), (25.0, 62.0, 17.0), (30.0, 62.0, 16.0)])
def test_a_part_of_another_size_is_no_slip(size: tuple[float, float, float]) -> None:
    bore_mm, od_mm, width_mm = size
    check((bore_mm,), (od_mm,), (width_mm,))
    check((float("nan"),), (-52.0,))


@given(st.sampled_from(boundary_rows()), st.floats(-0.04, 0.04))
def test_no_right_part_is_refused(row: BoundaryRow, off: float) -> None:
    sizes = {"bore": row.bore_mm, "outside diameter": row.od_mm, "width": row.width_mm}
    refuse_slips({name: ((size_mm * (1 + off),), size_mm) for name, size_mm in sizes.items()})


def test_kilograms_are_not_taken_for_grams() -> None:
    row, listed = boundary("6205"), mass_range("6205", None)
    assert row is not None
    assert listed is not None
    with pytest.raises(WrongUsage, match="kilograms"):
        refuse_kilograms("6205", [0.132], None)
    refuse_kilograms("6205", [132.0, 232.0, 0.5], None)
