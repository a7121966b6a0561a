from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from screener.specs.boundary import boundary
from screener.specs.masses import mass_range, mass_row, masses

Rows = list[dict[str, str]]
STEEL_KG_PER_MM3 = 7.85e-6


def test_masses_fit_the_size_of_the_ring() -> None:
    """Physics: a bearing fills between 28 and 102 % of its ring volume with steel."""
    for row in masses():
        size = boundary(row.designation)
        assert size is not None, row
        width_mm = size.width_for(closed=row.closure != "open")
        volume = math.pi / 4 * (size.od_mm**2 - size.bore_mm**2) * width_mm
        assert 0.27 < row.mass_kg / (volume * STEEL_KG_PER_MM3) < 1.03, row


def test_another_lineage_of_lists_lies_in_the_range(reference: Callable[[str], Rows]) -> None:
    """Open deep groove bearings in lists that were not copied from the main one."""
    outside = reference("masses_other_lineage.csv")
    missed = []
    for row in outside:
        expected = mass_range(row["designation"], "open")
        if expected is not None and not expected.low_kg <= float(row["mass_kg"]) <= expected.high_kg:
            missed.append((row, expected))
    assert len(outside) > 100
    assert len(missed) <= 0.02 * len(outside), missed


def test_the_next_series_is_heavier() -> None:
    """Computed over printed lists: 6205 is 61 % heavier than 6005, 6305 78 % heavier than 6205."""
    weights = [row.mass_kg for row in (mass_row(name, "open") for name in ("6005", "6205", "6305")) if row]
    assert len(weights) == 3
    assert weights[1] / weights[0] == pytest.approx(1.61, abs=0.12)
    assert weights[2] / weights[1] == pytest.approx(1.78, abs=0.12)


def test_masses_rise_within_a_series() -> None:
    for series in ("60", "62", "63"):
        rows = [row for row in masses() if re.fullmatch(rf"{series}\d\d", row.designation) and row.closure == "open"]
        ordered = [row.mass_kg for row in sorted(rows, key=lambda row: row.designation)]
        assert len(ordered) > 15
        assert ordered == sorted(ordered)


def test_the_range_says_where_it_comes_from() -> None:
    known = mass_range("6205", "open")
    assert known is not None
    assert known.low_kg <= 0.116  # lightest printed
    assert known.high_kg >= 0.142  # heaviest printed
    assert "independent lists" in known.origin
    assert "masses.csv: 6205 open" in known.rests_on


def test_an_unknown_closure_widens_the_range() -> None:
    opened, unknown = mass_range("6205", "open"), mass_range("6205", None)
    assert opened is not None
    assert unknown is not None
    assert unknown.low_kg < opened.low_kg
    assert unknown.high_kg > opened.high_kg
    assert "widened" in unknown.origin


def test_a_closure_that_no_list_prints_falls_back_to_the_open_mass() -> None:
    found = mass_range("6205", "non_contact_seal")
    assert found is not None
    assert "printed for the open bearing" in found.origin


def test_no_mass_is_none() -> None:
    assert mass_range("no such bearing", "open") is None
