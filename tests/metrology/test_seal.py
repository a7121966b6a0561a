from __future__ import annotations

import pytest

from screener.metrology.reading import Reading
from screener.metrology.seal import SealMeasurement, measure_seal
from screener.specs.seal_tolerances import SealCase
from screener.specs.seals import SealSizeRow


def measured(case: SealCase | None, *od_mm: float, instrument: str = "caliper") -> SealMeasurement:
    row = SealSizeRow(35, 52, 7, "test")
    return measure_seal(row, od=[Reading(value, instrument) for value in od_mm], case=case)


@pytest.mark.parametrize(
    ("case", "od_mm", "verdict"),
    [  # three agreeing pages: metal +0.13..+0.23, rubber +0.20..+0.35 on a 52 mm bore
        ("metal case", 52.18, "conforms"),
        ("metal case", 52.0, "does_not_conform"),
        ("metal case", 52.4, "does_not_conform"),
        ("rubber covered", 52.27, "cannot_tell"),  # a caliper on rubber is good to 0.2 mm
    ],
)
def test_the_free_outside_diameter_is_larger_by_design(case: SealCase, od_mm: float, verdict: str) -> None:
    decision = measured(case, od_mm).decisions[0]
    assert decision.verdict == verdict
    assert "larger by design" in decision.says
    assert "seal_press_fit.csv" in decision.rests_on


def test_a_seal_of_the_right_size_is_not_called_another() -> None:
    """Worked example: 52.2 on a 52 mm seal is no wrong size."""
    for case in ("metal case", "rubber covered", None):
        assert measured(case, 52.2).decisions[0].size == "agrees"
        assert ": the size 52 mm agrees; " in measured(case, 52.2).decisions[0].says
    assert measured(None, 55.2).decisions[0].size == "differs"


def test_where_the_tables_differ_nothing_is_decided() -> None:
    """Metal case to 80 mm: makers' pages from +0.13, ISO 6194-1 (from memory) from +0.09."""
    decision = measured("metal case", 52.115, instrument="micrometer").decisions[0]
    assert decision.verdict == "cannot_tell"


def test_an_oval_seal_is_mentioned() -> None:
    """Three agreeing pages: 0.35 mm out of round is usual at most up to 80 mm."""
    assert "out of round" in measured("metal case", 51.9, 52.5).decisions[0].says
    assert "; out of round" not in measured("metal case", 52.1, 52.3).decisions[0].says


def test_the_width() -> None:
    """A maker's page and GOST 8752-79: ±0.2 mm to 10 mm."""
    row = SealSizeRow(35, 52, 7, "test")
    for width_mm, verdict in ((7.0, "conforms"), (7.19, "cannot_tell"), (7.5, "does_not_conform")):
        found = measure_seal(row, width=[Reading(width_mm, "caliper")])
        assert found.decisions[0].verdict == verdict
    other = measure_seal(row, width=[Reading(8.0, "caliper")])
    assert other.decisions[0].size == "differs"


def test_the_lip_is_never_measured() -> None:
    assert "lip opening" in measured("metal case", 52.18).not_checked
    assert "width" in measured("metal case", 52.18).not_checked
    empty = measure_seal(SealSizeRow(35, 52, 7, "test"))
    assert empty.decisions == ()
