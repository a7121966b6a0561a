"""Outcomes: added, counted, taken back; from the command line to the weights that the next item is judged by."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from screener.cli.main import app
from screener.errors import WrongUsage
from screener.receiving.observe_signs import PersonSigns
from screener.receiving.verify import PartInHand, verify
from screener.records.outcomes import confirm, outcomes, tallies, withdraw
from screener.records.record import Record

FOUND = PartInHand(need="6205", signs=PersonSigns(seen=("CO1",), looked=("condition",)))
CLEAN = PartInHand(need="6205", signs=PersonSigns(looked=("condition",)))


@pytest.fixture
def record(tmp_path):
    with Record.open(tmp_path / "record.db") as opened:
        yield opened


def _tally(record, name="CO1"):
    return next((t for t in tallies(record) if t.indicator == name), None)


def test_an_outcome_counts_what_was_looked_for_and_moves_the_next_result(record):
    first = verify(FOUND, record)
    confirm(record, first.record_id, "conforming", who="Ann", why="the maker says so")
    counted = _tally(record)
    assert (counted.seen_on_bad, counted.bad, counted.seen_on_good, counted.good) == (0, 0, 1, 1)
    assert _tally(record, "CO2").seen_on_good == 0
    assert _tally(record, "PK5") is None
    after = verify(FOUND, record).item.suspicion.indicators[0]
    before = first.item.suspicion.indicators[0]
    assert after.ratio < before.ratio
    assert (before.learned_from, after.learned_from) == (0, 1)


def test_the_weights_used_stay_with_the_result(record):
    first = verify(FOUND, record)
    confirm(record, first.record_id, "conforming", who="Ann")
    kept = record.item(first.record_id).result["suspicion"]["indicators"][0]
    assert kept["ratio"] == pytest.approx(first.item.suspicion.indicators[0].ratio, abs=0.01)


def test_taking_back_restores_the_weights_and_the_earlier_word(record):
    first, second = verify(FOUND, record), verify(CLEAN, record)
    confirm(record, second.record_id, "conforming", who="Ann")
    standing = tallies(record)
    confirm(record, first.record_id, "nonconforming", who="Ann")
    confirm(record, first.record_id, "conforming", who="Bob", why="measured again")
    assert outcomes(record)[first.record_id].confirmed == "conforming"
    withdraw(record, first.record_id, who="Bob")
    assert outcomes(record)[first.record_id].confirmed == "nonconforming"
    withdraw(record, first.record_id, who="Ann")
    assert tallies(record) == standing
    assert [e.kind for e in record.events(item_id=first.record_id)] == ["outcome"] * 4


def test_another_opened_record_counts_the_same(record, tmp_path):
    confirm(record, verify(FOUND, record).record_id, "nonconforming", who="Ann")
    with Record.open(tmp_path / "record.db") as again:
        assert tallies(again) == tallies(record)


def test_nobody_and_nothing_are_refused(record):
    first = verify(FOUND, record)
    with pytest.raises(WrongUsage, match="name"):
        confirm(record, first.record_id, "conforming", who=" ")
    with pytest.raises(WrongUsage, match="no item"):
        confirm(record, 999, "conforming", who="Ann")
    with pytest.raises(WrongUsage, match="no outcome"):
        withdraw(record, first.record_id, who="Ann")


def test_command_line(tmp_path):
    place = ["--record", str(tmp_path / "r.db")]
    run = CliRunner().invoke
    given = run(app, ["verify", "--need", "6205", "--seen", "pk1, CO9", "--looked", "condition", "--json", *place])
    suspicion = json.loads(given.stdout)["items"][0]["suspicion"]
    assert suspicion["level"] == "strong"
    assert {each["indicator"] for each in suspicion["indicators"]} == {"PK1", "CO9"}
    assert "CO1" in suspicion["looked_for"]
    assert "PK5" not in suspicion["looked_for"]
    done = run(
        app, ["outcome", "1", "--confirmed", "nonconforming", "--by", "Ann", "--why", "measured", "--json", *place]
    )
    assert json.loads(done.stdout)["confirmed"] == "nonconforming"
    listed = json.loads(run(app, ["indicators", "--learned", "--json", *place]).stdout)["indicators"]
    moved = {each["indicator"]: each for each in listed if each["outcomes"]}
    assert moved["CO9"]["ratio"] > moved["CO9"]["judged_ratio"]
    assert moved["CO1"]["ratio"] < moved["CO1"]["judged_ratio"]
    assert "PK1" not in moved


def test_an_unknown_sign_is_refused(tmp_path):
    refused = CliRunner().invoke(app, ["verify", "--need", "6205", "--seen", "XX1", "--record", str(tmp_path / "r.db")])
    assert isinstance(refused.exception, WrongUsage)
    assert "screener indicators" in str(refused.exception)
