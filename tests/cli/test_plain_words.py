"""What the terminal says is plain to a person at the bench: which number, which hold, which source."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from cli.telling import told
from reports.making import screened

from screener.cli.rests_on import rests_on_says
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.result_json import item_as_json
from screener.reports.wording import absence_says, times_say
from screener.screening.model import Disposition, NotChecked, Suspicion


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Two deliveries; of the second, record 2 waits for a look and record 3 is kept for suspicion."""
    place = tmp_path / "record.sqlite"
    ask = Disposition("hold", "keep and ask", "Serial seen before.", "Keep it.", "R4")
    with Record.open(place) as opened:
        first = opened.start_run("receive", order_name="a.csv").id
        opened.add_item(first, ItemRecord("1", "1", item_as_json(screened("1")), "hold", "none", "6204", "AB", "1"))
        second = opened.start_run("receive", order_name="b.csv").id
        for line, made in (("7", screened("7")), ("8", screened("8", disposition=ask))):
            photo = NotChecked("photo", "a.jpg: Closer: the letters are about 10 px tall, 14 are needed.")
            result = item_as_json(screened(line, disposition=made.disposition, not_checked=(photo,)))
            opened.add_item(second, ItemRecord(line, line, result, "hold", "none", "6205-2RS", "AB", line))
    return place


def test_the_log_says_which_number_to_type_and_which_hold_it_is(record: Path) -> None:
    listed = told("log", "items", "--run", 2, "--record", record)
    head, first, second = listed.splitlines()[:3]
    assert head.split() == ["record", "run", "line", "needed", "do", "why"]
    assert re.split(r" {2,}", first)[:5] == ["2", "2", "7", "6205-2RS", "HOLD, look again"]
    assert re.split(r" {2,}", second)[:5] == ["3", "2", "8", "6205-2RS", "HOLD, keep and ask"]
    assert "Commands take the number under “record”" in listed
    assert told("log", "show", 3, "--record", record).startswith(
        "record 3 (run 2, line 8): 6205-2RS – HOLD, keep and ask"
    )


def test_a_supplier_is_not_told_how_our_photos_could_be_better(record: Path) -> None:
    letter = record.parent / "claim.html"
    told("audit", "--item", 2, "--nonconformance", letter, "--record", record)
    assert "px tall" not in letter.read_text()


def test_a_part_that_is_verified_was_not_ordered(tmp_path: Path) -> None:
    """47 mm outside is a 6204 (ISO 15: 20 x 47 x 14 mm), 52 mm a 6205: the mechanic needs one, nobody ordered it."""
    for size, code in ((47.0, 20), (52.0, 10)):
        given = ("verify", "--need", "6205-2RS", "--od", size, "--scan", "6205-2Z", "--record", tmp_path / "r.sqlite")
        said = told(*given, code=code)
        assert not re.search(r"ordered was|as ordered|the order asks", said)
        assert "reads 6205-2Z; 6205-2RS is needed" in said


def test_two_kinds_of_hold_are_told_apart(tmp_path: Path) -> None:
    said = told("verify", "--need", "6205-2RS", "--width", 15.0, "--record", tmp_path / "r.sqlite", code=10)
    assert said.startswith("HOLD – look again\n")


@pytest.mark.parametrize(
    ("told_as", "says"),
    [
        ("suffixes.csv: C3 (suffix-guides)", "suffixes.csv: C3 (source: suffix-guides, explained in"),
        (
            "boundary_dimensions.csv: 6205 (plan-3478+list-1+list-2)",
            "boundary_dimensions.csv: 6205 (3 sources, explained in",
        ),
        ("compare_rules.toml: size-differs (common practice)", "compare_rules.toml: size-differs (common practice)"),
        ("order line", "order line"),
    ],
)
def test_what_an_answer_rests_on_is_told_without_keys(told_as: str, says: str) -> None:
    assert rests_on_says(told_as).startswith(says)


def test_decibels_are_told_as_times() -> None:
    """10 dB is ten times, 17 dB fifty times (a decibel is a tenth of the logarithm to the base of ten)."""
    assert times_say(Suspicion("moderate", 13.0, 10.0, 17.0)) == (
        "such signs are seen 10 to 50 times as often on bad items as on good ones"
    )
    absent = Suspicion("none", 0.0, 0.0, 0.0, groups_without=("MARKING",), absence_db=-1.2)
    assert "it would move the level by -1.2 dB" in absence_says(absent)
