"""Numbers and verdicts in words."""

from __future__ import annotations

import pytest
from reports.making import observation, screened

from screener.reports.wording import suspicion_says, value_says, verdict_of
from screener.screening.model import Disposition, Suspicion


@pytest.mark.parametrize(
    ("value", "u", "says"),
    [
        # GUM 7.2.6 (JCGM 100:2008): at most two significant digits of an uncertainty, the value to the same place.
        (51.98, 0.02, "51.980 ± 0.040 mm (k = 2)"),
        (51.9837, 0.0031, "51.9837 ± 0.0062 mm (k = 2)"),
        (52.4, 0.6, "52.4 ± 1.2 mm (k = 2)"),
        (52.0, 0.0, "52.0000 ± 0.0000 mm (k = 2)"),
        (52.0, None, "52 mm"),
    ],
)
def test_a_number_stands_beside_its_uncertainty(value: float, u: float | None, says: str) -> None:
    assert value_says(observation("o1", value, attribute="od_mm", u=u)) == says


def test_the_part_s_temperature_stands_beside_a_reading() -> None:
    seen = observation("o1", 52.0, attribute="od_mm", u=0.02, temperature_c=31.5)
    assert value_says(seen).endswith("part at 31.5 °C")


def test_class_words_are_read_as_words_and_texts_as_they_are() -> None:
    assert value_says(observation("o1", "rubber_seal", attribute="closure")) == "rubber seal"
    assert value_says(observation("o1", "LOT_7_a", attribute="batch")) == "LOT_7_a"


def test_a_level_is_given_with_its_range_and_an_ordinary_cause() -> None:
    says = suspicion_says(Suspicion("weak", 4.0, -1.0, 8.0))
    assert "weak" in says
    assert "-1 to +8 dB" in says
    assert "ordinary cause" in says
    assert "proves nothing" in suspicion_says(Suspicion("none", 0.0, 0.0, 0.0))


def test_what_is_kept_is_never_sent_back() -> None:
    kept = screened(disposition=Disposition("reject", "keep and ask", "", "", "R2")).disposition
    assert verdict_of(kept).word == "HOLD"
