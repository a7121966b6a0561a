"""How a delivery was bought, line by line: a letter names no other firm's papers and no other line's pieces."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli.telling import told

from screener.errors import WrongUsage
from screener.records.model import ItemRecord
from screener.records.record import Record


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """One delivery of three lines: two from Mill Lane, one from Quay."""
    place = tmp_path / "record.sqlite"
    with Record.open(place) as opened:
        run = opened.start_run("receive", order_name="order.csv").id
        for line, supplier in (("1", "Mill Lane"), ("2", "Mill Lane"), ("3", "Quay")):
            opened.add_item(run, ItemRecord(line, line, {}, "reject", "none", "6205", supplier, line))
    return place


def known(record: Path, line: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(told("purchase", 1, "--line", line, "--json", "--record", record))
    return found


def test_what_is_said_of_a_supplier_holds_for_its_lines(record: Path) -> None:
    told("purchase", 1, "--supplier", "mill lane", "--delivery-note", "DN 88", "--by", "Kim", "--record", record)
    told("purchase", 1, "--order-number", "PO 4711", "--by", "Kim", "--record", record)
    assert [known(record, line)["delivery_note"] for line in ("1", "2", "3")] == ["DN 88", "DN 88", ""]
    assert {known(record, line)["order_number"] for line in ("1", "2", "3")} == {"PO 4711"}


@pytest.mark.parametrize(
    ("given", "asked"),
    [
        (("--received", 38), "line by line"),
        (("--supplier", "Mill Lane", "--received", 38), "line by line"),
        (("--address", "7 Quay Road"), "from 2 suppliers: Mill Lane, Quay"),
        (("--delivery-note", "DN 88"), "from 2 suppliers"),
        (("--supplier", "Dock", "--contact", "B. Sedge"), "nothing of run 1 came from “Dock”"),
        (("--supplier", "Quay", "--line", "3", "--contact", "B. Sedge"), "not both"),
    ],
)
def test_what_cannot_hold_for_every_line_is_refused(record: Path, given: tuple[object, ...], asked: str) -> None:
    with pytest.raises(WrongUsage, match=asked):
        told("purchase", 1, *given, "--by", "Kim", "--record", record)
    assert known(record, "1")["received"] is None


def test_pieces_are_told_for_a_line_or_where_there_is_but_one(record: Path) -> None:
    told("purchase", 1, "--line", 2, "--received", 38, "--record", record)
    told("purchase", 1, "--supplier", "Quay", "--received", 4, "--record", record)
    assert [known(record, line)["received"] for line in ("1", "2", "3")] == [None, 38, 4]
