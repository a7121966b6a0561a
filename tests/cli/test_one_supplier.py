"""One supplier on the command line: rates with intervals, what is open, and what to do next."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli.telling import told
from reports.making import screened

from screener.errors import InputUnreadable
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.result_json import item_as_json
from screener.screening.model import Disposition

ASK = Disposition("hold", "keep and ask", "Serial seen before.", "Keep it.", "R1")


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Records 1 to 4 from Mill Lane (use, doubt, suspect, wrong), 5 from Quay, all of one delivery."""
    place = tmp_path / "record.sqlite"
    with Record.open(place) as opened:
        run = opened.start_run("receive", order_name="order.csv").id
        for line, word, supplier in (
            ("3", "accept", "Mill Lane"), ("4", "hold", "Mill Lane"), ("5", "hold", "mill  lane"),
            ("6", "reject", "Mill Lane"), ("7", "hold", "Quay"),
        ):  # fmt: skip
            result = item_as_json(screened(line, disposition=ASK) if line == "5" else screened(line))
            suspicion = "strong" if line == "5" else "none"
            opened.add_item(run, ItemRecord(line, line, result, word, suspicion, "6205-2RS", supplier, line))
    return place


def test_one_supplier_is_shown_with_its_open_items_and_the_next_step(record: Path) -> None:
    shown = told("suppliers", "--supplier", "MILL lane", "--record", record)
    assert "Mill Lane: 4 parts in 1 delivery" in shown
    assert "2 of 4 held; 4 parts are too few to say how often: anything from" in shown
    assert "too few deliveries or cases to see a change" in shown
    assert "deep groove ball: 4 parts; 2 held, 1 sent back, 1 suspect" in shown
    assert "Open: 3 items" in shown
    assert "Quay" not in shown
    for step in (
        "Keep and ask about record 3;",
        "Claim record 4, a letter each: screener audit --item N",
        "Settle record 2",
    ):
        assert step in shown, step


def test_what_people_settled_is_no_longer_open(record: Path) -> None:
    where = ("--by", "Kim", "--record", record)
    told("release", 2, "--reason", "measured", *where)
    told("outcome", 3, "--confirmed", "nonconforming", "--why", "the maker answered", *where)
    one = json.loads(told("suppliers", "--supplier", "Mill Lane", "--json", "--record", record))
    assert [each["supplier"] for each in one["suppliers"]] == ["Mill Lane"]
    assert [(each["record"], each["what_to_do"]) for each in one["open_items"]] == [(3, "HOLD"), (4, "SEND BACK")]
    assert one["open_items"][0]["reason"] == "confirmed as nonconforming by Kim: the maker answered"
    assert one["next_steps"][0].startswith("Claim records 3, 4")


def test_a_supplier_of_whom_nothing_came_is_told_with_those_known(record: Path) -> None:
    with pytest.raises(InputUnreadable, match="nothing was received from “Dock”") as caught:
        told("suppliers", "--supplier", "Dock", "--record", record)
    assert "Mill Lane, Quay" in (caught.value.next_step or "")


def test_its_page_names_no_other(record: Path) -> None:
    page = record.parent / "one.html"
    told("suppliers", "--supplier", "Mill Lane", "--html", page, "--record", record)
    text = page.read_text()
    assert "Mill Lane over time" in text
    assert "it cannot be told apart from any other" in text
    assert "Quay" not in text
