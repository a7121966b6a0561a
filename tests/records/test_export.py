"""Exports are whole, streamed, and safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.errors import WrongUsage
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.spreadsheet_cell import safe_cell

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""OWASP, "CSV Injection": the characters that make a spreadsheet take a cell for a formula."""


def fill(record: Record, *results: dict[str, object]) -> None:
    run = record.start_run("receive")
    for number, result in enumerate(results):
        record.add_item(
            run.id, ItemRecord(str(number), str(number), result, "hold", "weak", supplier="=cmd|'/c calc'!A0")
        )


def test_json_is_one_array_with_everything(record: Record) -> None:
    fill(record, {"reason": "ä", "findings": [{"code": "x"}]}, {"reason": "b"})
    text = "".join(record.export("json"))
    assert [each["result"]["reason"] for each in json.loads(text)] == ["ä", "b"]
    assert len(text.splitlines()) == 4, "an item a line"
    assert json.loads("".join(record.export("json", supplier="nobody"))) == []


def test_csv_holds_no_formula(record: Record) -> None:
    fill(record, {"reason": '=HYPERLINK("http://x","y")', "next_step": "@SUM(1)", "not_checked": ["+1 two\nlines"]})
    rows = list(csv.DictReader(io.StringIO("".join(record.export("csv")))))
    assert len(rows) == 1
    for value in rows[0].values():
        assert not value.startswith(FORMULA_STARTS)
    assert rows[0]["reason"] == '\'=HYPERLINK("http://x","y")'


def test_a_row_holds_everything_a_buyer_asks_for(record: Record) -> None:
    result = {
        "order_line": {"quantity": 4},
        "exit": "look again",
        "agreed": ["The size agrees.", "The mark agrees."],
        "rule": "R5",
        "not_checked": ["Clearance cannot be seen in a photo."],
    }
    fill(record, result)
    (row,) = csv.DictReader(io.StringIO("".join(record.export("csv"))))
    assert (row["item"], row["exit"], row["quantity"], row["rule"]) == ("0", "look again", "4", "R5")
    assert row["agreed"] == "The size agrees. The mark agrees."
    assert row["not_checked"] == "Clearance cannot be seen in a photo."


def test_an_export_begins_before_all_is_read(record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("screener.records.record._PAGE", 2)
    fill(record, *({"reason": str(number)} for number in range(6)))
    pieces = record.export("json")
    assert len(list(islice(pieces, 2))) == 2
    fill(record, {"reason": "added meanwhile"})
    assert "added meanwhile" in "".join(pieces)


def test_an_unknown_form_is_refused(record: Record) -> None:
    with pytest.raises(WrongUsage, match="'xml'"):
        record.export("xml")  # type: ignore[arg-type]


@given(st.text())
def test_no_text_becomes_a_formula(text: str) -> None:
    cell = safe_cell(text)
    if cell.lstrip(" ").startswith(FORMULA_STARTS):
        float(cell.replace(",", "."))


@given(st.one_of(st.integers(), st.floats(allow_nan=False, allow_infinity=False)))
def test_numbers_stay_numbers(number: float) -> None:
    assert type(number)(safe_cell(number)) == number


def test_an_export_has_the_words_of_the_screen_and_each_code_once(record: Record) -> None:
    fill(record, {"findings": [{"code": "a"}, {"code": "b"}, {"code": "a"}]})
    (row,) = csv.DictReader(io.StringIO("".join(record.export("csv"))))
    assert (row["disposition"], row["what_to_do"], row["findings"]) == ("hold", "HOLD", "a ×2; b")
    (whole,) = json.loads("".join(record.export("json")))
    assert whole["what_to_do"] == "HOLD"
