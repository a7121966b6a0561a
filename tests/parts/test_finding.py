"""Designations inside longer lines, and numbers that only look like one."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.parts import find_in_text


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("Pos 3 brg. 6205-2RS/C3 qty 10", ["6205-2RS/C3"]),
        ("2 x 6202 2RS + 1x 16x28x7", ["6202 2RS", "16x28x7"]),
        ("OLMIRA 608 ZZ C3 GERMANY", ["608 ZZ C3"]),
        ("seal TC 35x52x7 NBR black", ["TC 35x52x7 NBR"]),
        ("NU 205 ECP / NJ 206", ["NU 205 ECP", "NJ 206"]),
        ("DIN 472 52x2 and 6205", ["DIN 472 52x2", "6205"]),
        ("6000 pcs 6205-2RS", ["6205-2RS"]),
        ("1. 6205-2RS 2. 6306 C3", ["6205-2RS", "6306 C3"]),
        ("order 35/52/7 AS FKM qty 2", ["35/52/7 AS FKM"]),
        ("6205\n", ["6205"]),
        ("Part No. 6205 / Lot 2310", ["6205"]),
        ("box 30x40x20 cm", []),
        ("6205 25x52x15", ["6205"]),
    ],
)
def test_found(line: str, found: list[str]) -> None:
    assert [hit.text for hit in find_in_text(line)] == found


@pytest.mark.parametrize(
    "line",
    [
        "Lot 10E089 date 2024-06",
        "6000 pcs",
        "Tel 6205 6206",
        "2024-06-12",
        "EAN 4012345678901",
        "price 62.05 EUR",
        "6000 h",
        "weight 6000 g",
        "35-52-7",
        "0171-35-52-7",
        "S/N 608123",
        "qty 608",
        "Batch 6205",
        "HELLO WORLD",
        "",
    ],
)
def test_not_found(line: str) -> None:
    assert find_in_text(line) == ()


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60) | st.text(alphabet="0123456789RSZX-/ .", max_size=40))
def test_spans_lie_in_the_line_and_do_not_overlap(line: str) -> None:
    place = 0
    for hit in find_in_text(line):
        assert place <= hit.start < hit.end <= len(line)
        assert line[hit.start : hit.end] == hit.text
        place = hit.end
