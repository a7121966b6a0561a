"""Some 600 spellings over all families.

Sizes come from printed bearing lists (the table's `source` column). What the suffixes say was read through row by row
against public suffix glossaries when the table was made; test_suffix_meanings.py checks the codes one by one.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from screener.parts import explain

_ROWS = list(
    csv.DictReader((Path(__file__).parents[1] / "reference" / "spellings.csv").read_text("utf-8").splitlines())
)
_NUMBERS = ("bore_mm", "od_mm", "width_mm", "contact_angle_deg")
_WORDS = ("kind", "basic", "clearance", "accuracy", "cage", "snap_ring", "tapered_bore", "material", "seal_type")


@pytest.mark.parametrize("row", _ROWS, ids=[row["spelling"] for row in _ROWS])
def test_spelling_says_what_the_outside_lists_say(row: dict[str, str]) -> None:
    found = explain(row["spelling"])
    assert found.understood, found.not_understood
    for name in _WORDS:
        assert (getattr(found, name) or "") == row[name], name
    for name in _NUMBERS:
        if row[name]:
            assert getattr(found, name) == pytest.approx(float(row[name]), abs=0.011), name
    if row["closure"]:
        assert found.closure is not None
        assert (found.closure.kind, str(found.closure.sides)) == (row["closure"], row["sides"])


def test_the_list_covers_the_families() -> None:
    families = {explain(row["spelling"]).family for row in _ROWS}
    assert len(families) >= 20
    assert len(_ROWS) >= 250
