from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.metrology.mass import mass_agreement
from screener.metrology.reading import MassReading
from screener.specs.masses import MassRow, masses


@pytest.mark.parametrize("mass_kg", [0.116, 0.128, 0.142])
def test_every_printed_mass_of_an_open_6205_is_no_surprise(mass_kg: float) -> None:
    """Six lineages of printed lists run from 0.116 to 0.142 kg."""
    found = mass_agreement("6205", MassReading(mass_kg), closure_kind="open")
    assert found.verdict == "agrees"
    assert "normal between makers" in found.says
    assert "masses.csv" in found.rests_on


@pytest.mark.parametrize("other", ["6005", "6305"])
def test_the_neighbouring_series_is_found(other: str) -> None:
    """Computed over printed lists: the next series at the same bore is 61 % and 78 % heavier."""
    weight = next(row.mass_kg for row in masses() if (row.designation, row.closure) == (other, "open"))
    assert mass_agreement("6205", MassReading(weight)).verdict == "differs"


def test_mass_does_not_tell_a_closure() -> None:
    """Sealed minus open is 0 % in the median: the same weighing suits both."""
    for closure in ("open", "shield", "contact_seal", None):
        assert mass_agreement("6205", MassReading(0.128), closure_kind=closure).verdict == "agrees"


def test_a_coarse_scale_says_so() -> None:
    assert mass_agreement("619/4", MassReading(0.002)).verdict == "cannot_tell"
    assert mass_agreement("619/4", MassReading(0.002, "fine scale")).verdict == "agrees"


def test_an_unknown_mass_is_cannot_tell() -> None:
    found = mass_agreement("NNU4940", MassReading(5.0))
    assert found.verdict == "cannot_tell"
    assert "weigh a known good piece" in found.says


@given(st.sampled_from([row for row in masses() if row.closure == "open" and row.mass_kg > 0.05]))
def test_every_row_agrees_with_itself_and_not_with_half_or_double(row: MassRow) -> None:
    assert mass_agreement(row.designation, MassReading(row.mass_kg), closure_kind="open").verdict == "agrees"
    assert mass_agreement(row.designation, MassReading(row.mass_kg / 2), closure_kind="open").verdict == "differs"
    assert mass_agreement(row.designation, MassReading(row.mass_kg * 2), closure_kind="open").verdict == "differs"


def test_impossible_weighings_are_refused() -> None:
    with pytest.raises(WrongUsage):
        mass_agreement("6205", [])
    with pytest.raises(WrongUsage):
        mass_agreement("6205", MassReading(-1))
    with pytest.raises(WrongUsage):
        mass_agreement("6205", MassReading(0.128, "caliper"))
