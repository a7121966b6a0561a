from __future__ import annotations

import pytest

from screener.metrology.fits.seat_wording import gap_words, seat_brief
from screener.metrology.fits.span import Span


# Whole micrometres, and nought has no sign (common practice in writing figures).
@pytest.mark.parametrize(
    ("low", "high", "says"),
    [
        (-0.3, 12.4, "interference 0 to 12 µm"),
        (-12.0, -0.2, "gap 0 to 12 µm on diameter"),
        (-12.0, 0.0, "gap 0 to 12 µm on diameter"),
        (0.0, 0.2, "interference 0 to 0 µm"),
        (-3.0, 5.0, "from 5 µm interference to 3 µm gap on diameter"),
    ],
)
def test_a_fit_in_words_has_no_nought_below_zero(low: float, high: float, says: str) -> None:
    assert gap_words(Span(low, high)) == says


def test_a_tight_ring_that_may_slide_is_said_plainly() -> None:
    from screener.metrology.fits.interference import Interference

    found = Interference(Span(2.0, 20.0), Span(5.0, 15.0), Span(4.0, 14.0), Span(1.0, 1.0), ())
    assert "it is allowed to slide here, but it is tight" in seat_brief("housing", found, "press", "loose")
