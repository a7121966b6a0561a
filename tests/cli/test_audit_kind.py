"""A lot is of one kind (ISO 2859-1, from memory): an audit that a plan decides can be told which."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from reports.making import screened
from typer.testing import CliRunner

from screener.cli.main import app
from screener.errors import InputUnreadable
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.result_json import item_as_json


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Three units of one kind, spelled in two ways, and one of another."""
    place = tmp_path / "record.sqlite"
    with Record.open(place) as opened:
        run = opened.start_run("receive", order_name="order.csv").id
        for key, need in (("1", "6205-2RS"), ("2", "6205-2RS1"), ("3", "6204-2Z"), ("4", "6205-2RS")):
            result = item_as_json(screened(key)) | {"requirement": need}
            opened.add_item(run, ItemRecord(key, key, result, "hold", "none", need, "Velmort & Co", key))
    return place


def test_a_lot_of_one_kind_is_chosen_however_it_is_spelled(record: Path) -> None:
    asked = ["audit", "--lot", "500", "--json", "--record", str(record)]
    mixed = json.loads(CliRunner().invoke(app, asked).stdout)
    one = json.loads(CliRunner().invoke(app, [*asked, "--kind", "6205-2RS"]).stdout)
    assert [[each["units"] for each in told["groups"]] for told in (mixed, one)] == [[[1, 2, 4], [3]], [[1, 2, 4]]]


def test_a_kind_that_nobody_recorded_is_told_with_those_there_are(record: Path) -> None:
    with pytest.raises(InputUnreadable) as told:
        CliRunner().invoke(app, ["audit", "--kind", "6211", "--record", str(record)], catch_exceptions=False)
    assert told.value.code == "nothing_to_audit"
    assert "6205, contact seal (3)" in told.value.next_step
