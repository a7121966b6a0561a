from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.length_text import inches_hint, length_mm, lengths_mm


@pytest.mark.parametrize(
    ("text", "value_mm"),
    [
        ("25.009", 25.009),
        ("25,009", 25.009),
        (" 25.009 mm", 25.009),
        ("1in", 25.4),  # exactly, by the international agreement of 1959
        ("1.9685 in", 50.0),  # printed conversion tables: 50 mm is 1.9685 in
        ('0.9843"', 25.001),
        ("1,9685 INCH", 50.0),
    ],
)
def test_one_length(text: str, value_mm: float) -> None:
    assert length_mm(text, "shaft") == pytest.approx(value_mm, abs=3e-4)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("25.009 25.011", (25.009, 25.011)),
        ("25,009 25,011", (25.009, 25.011)),
        ("25.009, 25.011", (25.009, 25.011)),
        ("25.009,25.011;25.012", (25.009, 25.011, 25.012)),
        ("1 in, 2in", (25.4, 50.8)),
        ("", ()),
    ],
)
def test_several_lengths(text: str, values: tuple[float, ...]) -> None:
    assert lengths_mm(text, "shaft") == values


@pytest.mark.parametrize("text", ["abc", "", "25.0x", "in", "25 in in", "--", "1/2in"])
def test_what_is_no_length_is_said(text: str) -> None:
    with pytest.raises(WrongUsage, match="is no reading"):
        length_mm(text, "shaft")


@given(st.text(max_size=12))
def test_nothing_else_escapes(text: str) -> None:
    try:
        lengths_mm(text, "shaft")
    except WrongUsage as error:
        assert error.next_step  # noqa: PT017


@given(st.floats(0.1, 20))
def test_an_inch_reading_is_the_same_length(inches: float) -> None:
    assert length_mm(f"{inches:.4f}in", "") == pytest.approx(round(inches, 4) * 25.4, abs=1e-4)


def test_a_bare_inch_reading_is_recognised() -> None:
    assert "50.010 mm" in inches_hint(1.9689, 50, 0.05)
    assert inches_hint(50.01, 50, 0.05) == ""
    assert inches_hint(float("nan"), 50, 0.05) == ""
