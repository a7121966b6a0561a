"""Holding and releasing on the command line: the same rules, entries and words as on the bench page."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from cli.telling import told
from reports.making import screened

from screener.errors import WrongUsage
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.result_json import item_as_json
from screener.screening.model import Disposition

WRONG, OPEN, RIGHT = 1, 2, 3


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A 6205 is 25 x 52 x 15 mm (ISO 15): one of 47 mm, one of which only the width is known, one to be used."""
    place = tmp_path / "a record.sqlite"
    told("verify", "--need", "6205-2RS", "--od", 47.0, "--record", place, code=20)
    told("verify", "--need", "6205-2RS", "--width", 15.0, "--record", place, code=10)
    with Record.open(place) as opened:
        use = Disposition("accept", "use", "Label and mark agree.", "Put it away.", "R7")
        result = item_as_json(screened("1", disposition=use, findings=()))
        opened.add_item(opened.start_run("receive").id, ItemRecord("1", "1", result, "accept", "none", "6205-2RS"))
    return place


def test_a_hold_and_its_release_are_recorded_with_name_and_reason(record: Path) -> None:
    held = told("hold", RIGHT, "--by", "Kim", "--reason", "wet carton", "--record", record)
    assert "held by Kim" in held
    assert "Now: HOLD. It stays back until somebody releases it." in held
    assert "screener release 3 --by NAME" in held
    assert f"--record '{record}'" in held, "a command that is copied finds the same record"
    released = told("release", RIGHT, "--by", "Ola", "--reason", "dried", "--record", record)
    assert "Now: USE. It may be used, on that word." in released
    with Record.open(record) as opened:
        kept = [(event.kind, event.who, event.why, event.data) for event in opened.item(RIGHT).events]
    assert kept == [("hold", "Kim", "wet carton", {"line": "1"}), ("release", "Ola", "dried", {"line": "1"})]
    assert "released by Ola: dried" in told("log", "show", RIGHT, "--record", record)


def test_said_twice_is_recorded_once(record: Path) -> None:
    said = ("release", OPEN, "--by", "Ola", "--reason", "seen by eye", "--record", record, "--json")
    first, second = (json.loads(told(*said)) for _ in range(2))
    assert (first["schema"], first["decided"], first["what_to_do"]) == ("screener.decision/1", "release", "USE")
    assert first["event"]
    assert second["event"] is None


@pytest.mark.parametrize(
    ("given", "asked"),
    [
        (("release", OPEN, "--reason", "seen"), "--by is missing"),
        (("hold", OPEN, "--by", "Ola"), "--reason is missing"),
        (("release", 99, "--by", "Ola", "--reason", "seen"), "there is no item 99"),
        (("release", RIGHT, "--by", "Ola", "--reason", "seen"), "may be used by its own answer"),
    ],
)
def test_what_makes_no_sense_is_refused(record: Path, given: tuple[object, ...], asked: str) -> None:
    with pytest.raises(WrongUsage, match=asked) as caught:
        told(*given, "--record", record)
    assert caught.value.exit_code == 2


def test_what_is_held_is_not_held_again(record: Path) -> None:
    told("hold", OPEN, "--by", "Kim", "--reason", "wet carton", "--record", record)
    with pytest.raises(WrongUsage, match=r"held by Kim already \(wet carton\)"):
        told("hold", OPEN, "--by", "Ola", "--reason", "me too", "--record", record)


def test_the_answers_name_the_commands_that_come_next(record: Path) -> None:
    where = ("--record", record)
    back = told("verify", "--need", "6205-2RS", "--od", 47.5, *where, code=20)
    assert "screener audit --item 4 --nonconformance claim.html" in back
    (command,) = re.findall(r"screener (audit --item 4 --nonconformance) claim\.html", back)
    letter = record.parent / "claim.html"
    told(*command.split(), letter, *where)
    assert letter.exists(), "the command that is told works"
    assert "screener release 5 --by NAME --reason …" in told(
        "verify", "--need", "6205-2RS", "--width", 15.0, "--mass", 130, *where, code=10
    )
    assert "screener audit --item 1 --nonconformance" in told("log", "show", WRONG, *where)
