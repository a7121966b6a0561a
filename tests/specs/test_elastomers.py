from __future__ import annotations

import pytest

from screener.errors import InputUnreadable
from screener.specs import elastomers as table
from screener.specs.elastomers import elastomer, elastomers
from screener.specs.storage import HOLD_ABOVE, NO_REMARK, elastomer_storage, storage
from screener.specs.table import parse_rows


def test_the_usual_materials_are_there() -> None:
    for name in ("NBR", "HNBR", "FKM", "ACM", "VMQ", "EPDM", "PTFE"):
        assert elastomer(name) is not None


@pytest.mark.parametrize(
    ("material", "highest_c"),
    [("NBR", 100), ("FKM", 170), ("VMQ", 150)],  # GOST 8752-79
)
def test_temperatures_of_the_standard(material: str, highest_c: float) -> None:
    row = elastomer(material)
    assert row is not None
    assert row.highest_c == highest_c


def test_other_spellings() -> None:
    assert elastomer("FPM") is elastomer("fkm")
    assert elastomer("AU") is elastomer("EU")
    assert elastomer("XYZ") is None


def test_order_of_heat_resistance() -> None:
    """Common practice: NBR < HNBR <= ACM < FKM < PTFE."""
    found = [elastomer(name) for name in ("NBR", "HNBR", "ACM", "FKM", "PTFE")]
    heat = [row.highest_c for row in found if row is not None]
    assert heat == sorted(heat)
    assert len(elastomers()) >= 12


def test_storage_groups_of_iso_2230() -> None:
    """A public page quoting ISO 2230: NBR 7 + 3 years, FKM 10 + 5, NR 5 + 2."""
    for material, years in (("NBR", (7, 3)), ("FKM", (10, 5)), ("NR", (5, 2))):
        row = elastomer_storage(material)
        assert row is not None
        assert (row.first_years, row.extension_years) == years
    assert elastomer_storage("PTFE") is None
    assert elastomer_storage("no such") is None


def test_closed_bearings_are_advised_in_three_steps() -> None:
    quiet, hold = storage(NO_REMARK), storage(HOLD_ABOVE)
    assert quiet is not None
    assert hold is not None
    assert (quiet.first_years, hold.first_years) == (2, 5)
    assert "common practice" in hold.source


def test_a_temperature_range_upside_down_is_refused() -> None:
    row = next(parse_rows("e.csv", "material,name,lowest_c,highest_c,source\nNBR,x,100,-30,from memory\n", ()))
    with pytest.raises(InputUnreadable, match="not above"):
        table._read(row)
