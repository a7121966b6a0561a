"""O-rings and retaining rings."""

from __future__ import annotations

import pytest

from screener.parts import explain


@pytest.mark.parametrize("text", ["20x2", "OR 20x2", "O-ring 20 x 2 NBR 70", "O-Ring 20,0x2,0"])
def test_o_ring_by_size(text: str) -> None:
    found = explain(text)
    assert (found.understood, found.kind, found.bore_mm, found.width_mm, found.od_mm) == (True, "o_ring", 20, 2, 24)


@pytest.mark.parametrize("text", ["AS568-214", "AS 568 214", "as568-214 FKM"])
def test_dash_number(text: str) -> None:
    """AS568 -214: 24.99 x 3.53 mm (open package of O-ring sizes; the same in inches: 0.984 x 0.139)."""
    found = explain(text)
    assert (found.bore_mm, found.width_mm) == pytest.approx((0.984 * 25.4, 0.139 * 25.4), abs=0.01)


def test_unknown_dash_number() -> None:
    assert not explain("AS568-999").understood


@pytest.mark.parametrize("text", ["DIN 471 25x1.2", "DIN471-25", "DIN 471 - 25 x 1,2", "retaining ring 25 DIN 471"])
def test_shaft_ring(text: str) -> None:
    """DIN 471, shaft 25: thickness 1.2 mm (two open typings of the standard's table agree)."""
    found = explain(text)
    assert (found.understood, found.kind, found.bore_mm, found.width_mm) == (True, "retaining_ring", 25, 1.2)


@pytest.mark.parametrize("text", ["DIN472-52", "DIN 472 52x2", "DIN 472 J52"])
def test_bore_ring(text: str) -> None:
    """DIN 472, bore 52: thickness 2 mm (two open typings of the standard's table agree)."""
    found = explain(text)
    assert (found.understood, found.od_mm, found.width_mm) == (True, 52, 2)
