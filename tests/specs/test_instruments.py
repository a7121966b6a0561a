from __future__ import annotations

import pytest

from screener.specs.instruments import instrument, instrument_names, instruments


def test_names_and_other_names() -> None:
    assert instrument("Digital Caliper", "outside") is instrument("caliper", "outside")
    assert instrument("bore-gauge", "inside") is not None
    assert instrument("ruler", "outside") is None
    assert instrument("scale", "outside") is None
    assert "micrometer" in instrument_names()


@pytest.mark.parametrize(
    ("name", "error_limit_mm"),
    [("caliper", 0.03), ("vernier", 0.05), ("micrometer", 0.004)],  # error limits on public data sheets
)
def test_expanded_uncertainty_is_of_the_order_of_the_error_limit(name: str, error_limit_mm: float) -> None:
    row = instrument(name, "outside")
    assert row is not None
    assert 0.5 * error_limit_mm <= 2 * row.standard_uncertainty(20) <= 2.5 * error_limit_mm


def test_a_scale_grows_less_sure_with_the_load() -> None:
    row = instrument("scale", "mass")
    assert row is not None
    assert row.standard_uncertainty(0.1) == pytest.approx(0.0006)  # 0.5 g + 0.1 %
    assert row.standard_uncertainty(10) > row.standard_uncertainty(1)


def test_inside_jaws_are_never_better_than_outside_jaws() -> None:
    for name in ("caliper", "vernier"):
        inside, outside = instrument(name, "inside"), instrument(name, "outside")
        assert inside is not None
        assert outside is not None
        assert inside.u_absolute >= outside.u_absolute
        assert inside.flat_mm is not None


def test_units_go_with_uses() -> None:
    for row in instruments():
        assert row.unit == ("kg" if row.use == "mass" else "mm")
