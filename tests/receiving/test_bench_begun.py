"""A code scanned to find a line is no look at the part: it counts nowhere until somebody has seen or said something.

What must count is the plain meaning of the words on the lists ("kept back", "received and looked at"); common practice
of a receiving log is that a line without inspection is open, neither held nor accepted.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from screener.errors import InputUnreadable
from screener.looking.reading import PhotoReading
from screener.receiving.bench import Bench
from screener.receiving.bench_model import HandReading
from screener.records.audit_units import Chosen, audit_units
from screener.records.outcomes import confirm
from screener.records.record import Record
from screener.records.supplier_items import supplier_items

ORDER = b"line,quantity,designation,duty,supplier\n1,4,6205-2RS C3,wet,Quillhaven\n2,4,6205-2RS C3,dry,Quillhaven\n"
TODAY = dt.date(2026, 11, 25)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Record.open(tmp_path / "bench.sqlite") as record:
        yield Bench(record)


@pytest.fixture
def run(bench: Bench) -> int:
    """A delivery with one line found by its code."""
    opened = bench.open_delivery("a.csv", ORDER)
    bench.add_scan(opened, "1", "6205-2RS C3")
    assert bench.screen_line(opened, "1", TODAY) is not None
    return opened


def counted(bench: Bench) -> dict[str, int]:
    """How many items each list counts."""
    try:
        units = len(audit_units(bench.record, Chosen()))
    except InputUnreadable:
        units = 0
    return {
        "held": len(bench.held()),
        "suppliers": sum(each.items for each in bench.suppliers()),
        "history": len(list(supplier_items(bench.record))),
        "audit": units,
        "answered": bench.deliveries()[0].answered,
    }


def test_a_code_alone_counts_nowhere(bench: Bench, run: int) -> None:
    assert bench.line(run, "1").begun
    assert counted(bench) == {"held": 0, "suppliers": 0, "history": 0, "audit": 0, "answered": 0}


@pytest.mark.parametrize("given", ["photo", "reading", "hold", "release", "outcome"])
def test_a_look_or_a_person_s_word_counts_everywhere(bench: Bench, run: int, given: str) -> None:
    item = bench.line(run, "1").answer.item_id
    if given == "photo":
        bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff one", "box")
        for job in bench.unread():
            bench.read_photo(job, lambda path: PhotoReading(str(path), "", 800, 600))
        bench.screen_line(run, "1", TODAY)
    elif given == "reading":
        bench.add_reading(run, "1", HandReading("width_mm", 15.0, "caliper"))
        bench.screen_line(run, "1", TODAY)
    elif given == "outcome":
        confirm(bench.record, item, "nonconforming", who="Kim", why="the maker's answer")
    else:
        getattr(bench, given)(item, "Kim", "wet carton")
    found = counted(bench)
    assert (found["suppliers"], found["history"]) == (1, 1)
    if given != "outcome":
        assert found["answered"] == 1
        assert found["held"] == (given != "release")
        assert found["audit"] == 1
        assert not bench.line(run, "1").begun


def test_a_code_that_says_another_part_is_a_finding(bench: Bench, run: int) -> None:
    bench.add_scan(run, "2", "6203-2RS")
    bench.screen_line(run, "2", TODAY)
    assert not bench.line(run, "2").begun
    assert [(each.items, each.send_back) for each in bench.suppliers()] == [(1, 1)]


def test_one_serial_on_two_boxes_is_a_finding(bench: Bench, run: int) -> None:
    # GS1 General Specifications: AI 01 GTIN, AI 21 serial; a serial is given once.
    for line in ("1", "2"):
        bench.add_scan(run, line, "(01)09506000134352(21)SN1")
        bench.screen_line(run, line, TODAY)
    assert {bench.line(run, line).answer.exit for line in ("1", "2")} != {"look again"}
    assert bench.held(), "what speaks for suspicion stays on the list"


def test_a_reading_sent_twice_counts_once(bench: Bench, run: int) -> None:
    sent = HandReading("od_mm", 51.99, "caliper", who="Kim", once="form-1")
    for _ in range(2):
        bench.add_reading(run, "1", sent)
    assert [each.value for each in bench.line(run, "1").readings] == [51.99]
    bench.add_reading(run, "1", HandReading("od_mm", 51.99, "caliper", who="Kim", once="form-2"))
    bench.add_reading(run, "1", HandReading("od_mm", 51.98, "caliper", who="Kim", once="form-1"))
    assert len(bench.line(run, "1").readings) == 3, "another form, or another number, is another reading"


def test_a_reading_that_two_servers_took_at_once_counts_once(bench: Bench, run: int) -> None:
    bench.add_reading(run, "1", HandReading("od_mm", 51.99, "caliper", who="Kim", once="form-1"))
    (event,) = [each for each in bench.record.events(run_id=run) if each.kind == "reading"]
    bench.record.add_event("reading", run_id=run, who="Kim", data=dict(event.data))
    assert len(bench.line(run, "1").readings) == 1


def test_a_hold_sent_twice_is_one_hold(bench: Bench, run: int) -> None:
    item = bench.line(run, "1").answer.item_id
    for kind in ("hold", "hold", "release", "hold"):
        getattr(bench, kind)(item, "Kim", "wet carton")
    kinds = [each.kind for each in bench.record.item(item).events if each.kind in {"hold", "release"}]
    assert kinds == ["hold", "release", "hold"]


def test_a_hold_on_the_answer_before_still_counts(bench: Bench, run: int) -> None:
    """A hold stays until somebody lifts it (plain meaning of "kept back"); a second code changes nothing."""
    held = bench.line(run, "1").answer
    assert held is not None
    bench.hold(held.item_id, "A. Clerk", "the box is torn")
    bench.add_scan(run, "1", "6205-2RS C3 A")
    newer = bench.screen_line(run, "1", TODAY)
    assert newer is not None
    assert bench.line(run, "1").answer.item_id != held.item_id
    assert [each.disposition for each in supplier_items(bench.record)] == ["hold"]
    assert len(bench.held()) == 1


def test_a_photo_taken_away_is_told_with_its_name(bench: Bench, run: int) -> None:
    content = b"\xff\xd8\xff\xe0" + b"torn" * 9
    sha256 = bench.add_photo(run, "1", "torn.jpg", content, "box").sha256
    bench.withdraw_photo(run, "1", sha256, "A. Clerk", "of another part")
    gone = bench.line(run, "1").withdrawn
    assert [(each.photo.name, each.photo.shows, each.who) for each in gone] == [("torn.jpg", "box", "A. Clerk")]
