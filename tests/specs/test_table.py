from __future__ import annotations

import pytest

from screener.errors import InputUnreadable
from screener.specs import boundary, seals
from screener.specs.table import parse_rows, read_rows


def test_a_row_gives_text_numbers_and_blanks() -> None:
    row = next(parse_rows("t.csv", "name,size_mm,note\n 6205 ,52.5,\n", ("name", "size_mm")))
    assert row.text("name") == "6205"
    assert row.number("size_mm") == 52.5
    assert row.maybe_number("note") is None
    assert row.maybe_text("absent") is None


@pytest.mark.parametrize(
    ("cell", "says"),
    [("", "empty"), ("twelve", "no number"), ("12,5", "more cells"), ("nan", "no number"), ("inf", "no number")],
)
def test_a_broken_cell_is_named_by_file_and_line(cell: str, says: str) -> None:
    def read_all() -> None:
        for row in parse_rows("t.csv", f"name,size_mm\nok,1\nbad,{cell}\n", ("name", "size_mm")):
            row.number("size_mm")

    with pytest.raises(InputUnreadable) as caught:
        read_all()
    assert "reference_specs/t.csv, line 3" in str(caught.value)
    assert says in caught.value.says
    assert caught.value.next_step


def test_a_missing_column_is_named() -> None:
    with pytest.raises(InputUnreadable, match="size_mm"):
        list(parse_rows("t.csv", "name\nok\n", ("name", "size_mm")))


def test_a_missing_file_is_named() -> None:
    with pytest.raises(InputUnreadable, match=r"nothing\.csv"):
        list(read_rows("nothing.csv", ()))


def test_zero_and_negative_sizes_are_refused() -> None:
    for cell in ("0", "-3"):
        row = next(parse_rows("t.csv", f"size_mm\n{cell}\n", ("size_mm",)))
        with pytest.raises(InputUnreadable):
            row.positive("size_mm")


def test_a_bore_larger_than_the_outside_diameter_is_refused() -> None:
    text = "designation,family,bore_mm,od_mm,width_mm,r_min_mm,source\n6205,deep groove ball,52,25,15,1,from memory\n"
    row = next(parse_rows("b.csv", text, ("designation",)))
    with pytest.raises(InputUnreadable, match="not larger"):
        boundary._read(row)


def test_a_seal_whose_shaft_is_larger_than_its_housing_is_refused() -> None:
    row = next(parse_rows("s.csv", "shaft_mm,housing_mm,width_mm,source\n52,35,7,from memory\n", ()))
    with pytest.raises(InputUnreadable, match="not larger"):
        seals._read(row)
