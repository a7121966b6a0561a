"""CSV of results: read back by Python's csv module, no cell a formula (OWASP, "CSV Injection")."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st
from reports.making import screened

from screener.reports.csv_export import COLUMNS, write_items_csv
from screener.screening.model import Disposition


def rows_of(*items: object) -> list[dict[str, str]]:
    out = io.StringIO(newline="")
    write_items_csv(out, items)  # type: ignore[arg-type]
    out.seek(0)
    return list(csv.DictReader(out))


def test_one_row_an_item_with_everything_a_buyer_asks_for() -> None:
    first, second = rows_of(screened("1"), screened("2", "6004-2Z"))
    assert tuple(first) == COLUMNS
    assert (first["item"], first["do"], first["supplier"], first["quantity"]) == ("1", "HOLD", "Lund & Co", "4")
    assert second["ordered"] == "6004-2Z"
    assert second["not_checked"] == "Clearance cannot be seen in a photo."


@given(st.sampled_from("=+-@\t\r"), st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_no_text_of_a_label_is_a_formula(start: str, rest: str) -> None:
    text = f"{start}{rest}"
    row = rows_of(screened(text, text, disposition=Disposition("hold", "look again", text, text, text)))[0]
    for name in ("item", "ordered", "reason", "next_step", "rule"):
        cell = row[name].strip()
        assert not cell.startswith(("=", "@", "\t", "\r")) or cell == ""
        if cell.startswith(("+", "-")):
            float(cell.replace(",", "."))
