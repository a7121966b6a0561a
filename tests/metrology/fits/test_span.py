from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.fits.span import Span, exactly, probable_sum, widest_sum

numbers = st.floats(-1e4, 1e4)
spans = st.tuples(numbers, numbers).map(lambda ends: Span(min(ends), max(ends)))
shares = st.floats(0, 1)


@pytest.mark.parametrize(
    ("housing_um", "od_um", "tightest", "loosest"),
    [
        # A public page "Housing tolerances and resultant fits", its column of probable values (whole micrometres).
        (Span(-18, 7), Span(-11, 0), 14, 14),  # OD over 30 to 50 in K7
        (Span(-30, 0), Span(-13, 0), 25, 8),  # OD over 50 to 80 in M7
        (Span(-21, 9), Span(-13, 0), 16, 17),  # OD over 50 to 80 in K7
    ],
)
def test_the_probable_sum_is_what_a_published_list_of_fits_prints(
    housing_um: Span, od_um: Span, tightest: float, loosest: float
) -> None:
    found = probable_sum((od_um, housing_um.scaled(-1)))
    assert found.high == pytest.approx(tightest, abs=0.5)
    assert -found.low == pytest.approx(loosest, abs=0.5)


@given(spans, spans, shares, shares)
def test_sums_differences_and_products_hold_every_pair(a: Span, b: Span, in_a: float, in_b: float) -> None:
    x, y = a.low + in_a * (a.high - a.low), b.low + in_b * (b.high - b.low)
    for found, value in ((a + b, x + y), (a - b, x - y), (a.times(b), x * y), (a.scaled(y), x * y)):
        slack = 1e-9 * max(1.0, abs(value), abs(found.low), abs(found.high))
        assert found.low - slack <= value <= found.high + slack


@given(st.lists(spans, min_size=1, max_size=5))
def test_the_probable_sum_lies_inside_the_widest(parts: list[Span]) -> None:
    inner, outer = probable_sum(parts), widest_sum(parts)
    slack = 1e-9 * max(1.0, abs(outer.low), abs(outer.high))
    assert outer.low - slack <= inner.low <= inner.high <= outer.high + slack


@pytest.mark.parametrize("ends", [(2.0, 1.0), (math.nan, 1.0), (0.0, math.inf)])
def test_what_is_no_range_is_refused(ends: tuple[float, float]) -> None:
    with pytest.raises(WrongUsage):
        Span(*ends)


def test_below_zero_counts_as_zero() -> None:
    assert Span(-3, 2).above_zero() == Span(0, 2)
    assert Span(-3, -2).above_zero() == exactly(0)
    assert Span(1, 2).around(Span(-1, 0)) == Span(-1, 2)
