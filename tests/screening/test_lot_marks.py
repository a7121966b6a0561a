"""Batches, dates and countries against each other. The date rule is that of GOST 520-2011, 10.1 (a quarter's grace)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from screening.items import TODAY, item, label, mark, need

from screener.screening.checks.lot_marks import check

PART = need("6205-2RS")


def codes(*observations, around=TODAY):
    return [f.code for f in check(item(PART, *observations), around).findings]


@pytest.mark.parametrize(
    ("packed", "made", "found"),
    [
        ("2025-12-01", "2026-02-15", []),  # within a quarter: the coming year's code is allowed
        ("2025-10-01", "2026-02-15", ["date_impossible"]),
        ("2026-02-15", "2023-01-01", []),  # packed long after it was made: old stock
        ("2025-10-01", "not read", []),
    ],
)
def test_packed_before_made(packed, made, found):
    assert codes(label("date", packed), mark(made, attribute="date")) == found


def test_batches_of_box_and_part():
    assert codes(label("batch", "B-77 1"), mark("B771", attribute="batch")) == []
    found = check(item(PART, label("batch", "B771"), mark("C12", attribute="batch")), TODAY).findings
    assert [(f.code, f.indicator) for f in found] == [("batches_differ", "SN5")]
    assert codes(label("batch", "B771"), mark("C12", p=0.5, attribute="batch")) == []


def test_countries_of_box_and_part():
    assert codes(label("country", "Poland"), mark("POLAND", attribute="country")) == []
    assert codes(label("country", "Poland"), mark("Japan", attribute="country")) == ["countries_differ"]


def test_many_batches_in_a_small_lot():
    def around(*batches):
        return replace(TODAY, batches_elsewhere=tuple((b, f"item {n}") for n, b in enumerate(batches, 2)))

    assert codes(label("batch", "A"), around=around("A", "A", "B")) == []
    assert codes(label("batch", "A"), around=around("B", "C", "A")) == ["batches_mixed"]
    assert codes(label("batch", "A"), around=around("B", "C", "A", "A", "A")) == []
    assert codes(label("batch", "A"), around=around(*map(str, range(40)))) == []
