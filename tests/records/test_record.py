"""What the record promises: it keeps whole items, only grows, resumes, and knows what it has seen."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from screener.errors import ScreenerError, WrongUsage
from screener.records.model import ItemRecord, PhotoRef, SerialRef
from screener.records.record import Record

INPUTS = {"order_sha256": "a" * 64, "photos_fingerprint": "p1", "settings": {"prior": 0.02}}


def item(key: str, **more: object) -> ItemRecord:
    values: dict[str, object] = {
        "item_key": key,
        "fingerprint": f"f-{key}",
        "result": {"item": key, "reason": "Label and ring agree."},
        "disposition": "accept",
        "suspicion": "none",
    }
    return ItemRecord(**(values | more))  # type: ignore[arg-type]


def test_an_item_comes_back_as_it_went_in(record: Record, jpeg: Callable[[int], bytes]) -> None:
    run = record.start_run("receive", order_name="order 7.csv", **INPUTS)
    photo = record.archive.keep(jpeg(1))
    result = {"reason": "differs", "findings": [{"code": "x"}], "suspicion": {"ratio_db": 1.5}}
    item_id = record.add_item(
        run.id,
        item("4", result=result, disposition="hold", supplier="Hansen", line="4", photos=(PhotoRef(photo, "a.jpg"),)),
    )
    record.add_event("correction", item_id=item_id, who="Ida", why="the 8 is a 3", data={"serial": "73"})
    stored = record.item(item_id)
    assert stored.result == result
    assert (stored.disposition, stored.supplier, stored.line) == ("hold", "Hansen", "4")
    assert stored.photos == (PhotoRef(photo, "a.jpg"),)
    assert [(event.kind, event.who, event.data) for event in stored.events] == [("correction", "Ida", {"serial": "73"})]
    assert record.archive.open(photo).read() == jpeg(1)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=40), st.text(max_size=40))
def test_any_text_from_a_label_can_be_kept(tmp_path: Path, supplier: str, serial: str) -> None:
    # NUL and lone surrogates arrive from scanners and file names; most databases refuse them.
    with Record.open(tmp_path / "texts.sqlite") as record:
        run = record.start_run("receive")
        refs = (SerialRef(serial),)
        item_id = record.add_item(run.id, item("1", supplier=supplier, result={serial: [supplier]}, serials=refs))
        stored = record.item(item_id)
        assert "\0" not in stored.supplier + json.dumps(stored.result)
        stored.supplier.encode("utf-8")
        assert any(seen.item_id == item_id for seen in record.serials_seen([serial]))


@pytest.mark.parametrize("table", ["runs", "items", "photos", "item_photos", "readings", "serials", "events"])
def test_no_program_can_change_or_remove_a_row(record: Record, jpeg: Callable[[int], bytes], table: str) -> None:
    run = record.start_run("verify")
    photo = record.archive.keep(jpeg(1))
    record.add_item(run.id, item("1", photos=(PhotoRef(photo, "a"),), serials=(SerialRef("S"),)))
    record.cache_reading(photo, "v1", {"codes": []})
    record.finish(run.id)
    assert record.place.file
    outside = sqlite3.connect(record.place.file)
    column = outside.execute(f"SELECT name FROM pragma_table_info('{table}')").fetchone()[0]  # noqa: S608
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        outside.execute(f"UPDATE {table} SET {column} = {column}")  # noqa: S608
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        outside.execute(f"DELETE FROM {table}")  # noqa: S608
    outside.close()


def test_an_interrupted_run_goes_on_and_a_finished_one_does_not(record: Record) -> None:
    first = record.start_or_resume("receive", order_name="a.csv", **INPUTS)
    record.add_item(first.run.id, item("1"))
    again = record.start_or_resume("receive", order_name="renamed.csv", **INPUTS)
    assert again.run.id == first.run.id
    assert again.finished_items == {"1"}
    assert not again.is_new
    record.finish(first.run.id)
    record.finish(first.run.id)
    assert len(record.events(run_id=first.run.id)) == 1
    assert record.start_or_resume("receive", order_name="a.csv", **INPUTS).is_new


@pytest.mark.parametrize(
    "other",
    [{"order_sha256": "b" * 64}, {"photos_fingerprint": "p2"}, {"settings": {"prior": 0.03}}],
    ids=lambda value: next(iter(value)),
)
def test_other_inputs_are_another_run(record: Record, other: dict[str, object]) -> None:
    first = record.start_or_resume("receive", **INPUTS)
    assert record.start_or_resume("receive", **(INPUTS | other)).run.id != first.run.id  # type: ignore[arg-type]
    assert record.start_or_resume("verify", **INPUTS).run.id != first.run.id


def test_the_same_item_is_kept_once_and_another_answer_is_refused(record: Record) -> None:
    run = record.start_run("receive")
    first = record.add_item(run.id, item("1"))
    assert record.add_item(run.id, item("1")) == first
    with pytest.raises(ScreenerError, match="another result"):
        record.add_item(run.id, item("1", fingerprint="changed"))
    assert record.finished_items(run.id) == {"1"}


def test_an_item_with_a_missing_photo_leaves_nothing_behind(record: Record) -> None:
    run = record.start_run("receive")
    with pytest.raises(ScreenerError, match="not in the archive"):
        record.add_item(run.id, item("1", photos=(PhotoRef("0" * 64, "lost.jpg"),)))
    assert record.finished_items(run.id) == frozenset()


def test_an_unknown_run_is_said_plainly(record: Record) -> None:
    with pytest.raises(WrongUsage, match="no such run"):
        record.add_item(99, item("1"))
    with pytest.raises(WrongUsage, match="no item 99"):
        record.item(99)


def test_filters_choose_by_run_disposition_supplier_and_time(record: Record) -> None:
    first, second = record.start_run("receive"), record.start_run("receive")
    record.add_item(first.id, item("1", supplier="Hansen"))
    record.add_item(first.id, item("2", supplier="Hansen", disposition="hold"))
    record.add_item(second.id, item("1", supplier="Lund"))
    assert [each.item_key for each in record.items(run=first.id)] == ["1", "2"]
    assert [each.item_key for each in record.items(disposition="hold")] == ["2"]
    assert len(list(record.items(supplier="hansen"))) == 2
    moment = list(record.items())[-1].recorded_at
    assert [each.run_id for each in record.items(since=moment)] == [second.id]
    assert list(record.items(since="2999-01-01")) == []
    assert [run.item_count for run in record.runs()] == [2, 1]


def test_pages_of_a_long_record_lose_no_item(record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("screener.records.record._PAGE", 10)
    run = record.start_run("receive")
    keys = [str(number) for number in range(31)]
    for key in keys:
        record.add_item(run.id, item(key))
    assert [each.item_key for each in record.items()] == keys


def test_a_serial_is_known_again_but_not_from_the_same_photo_or_run(
    record: Record, jpeg: Callable[[int], bytes]
) -> None:
    photo = record.archive.keep(jpeg(3))
    old = record.start_run("receive", order_name="order-77.csv")
    refs = (SerialRef("7741", "04012345678901"),)
    record.add_item(old.id, item("4", serials=refs, photos=(PhotoRef(photo, "a.jpg"),), supplier="Lund"))
    now = record.start_run("receive", order_name="order-81.csv")
    record.add_item(now.id, item("9", serials=refs))
    seen = record.serials_seen(["7741", "none"], except_run=now.id)
    assert [(each.scope, each.item_key, each.supplier) for each in seen] == [("04012345678901", "4", "Lund")]
    assert "item 4 of order-77.csv" in seen[0].says
    assert record.serials_seen(["7741"], except_run=now.id, except_photos=[photo]) == []


def test_thousands_of_serials_are_asked_by_index(record: Record) -> None:
    run = record.start_run("receive")
    record.add_item(run.id, item("1", serials=tuple(SerialRef(f"S{number}") for number in range(1000))))
    assert len(record.serials_seen(f"S{number}" for number in range(0, 2000, 2))) == 500
    assert record.place.file
    outside = sqlite3.connect(record.place.file)
    plan = outside.execute("EXPLAIN QUERY PLAN SELECT * FROM serials WHERE serial IN ('a', 'b')").fetchall()
    outside.close()
    assert "serials_by_serial" in str(plan)


def test_the_first_reading_of_a_version_stays(record: Record) -> None:
    assert record.cached_reading("a" * 64, "look 1") is None
    record.cache_reading("a" * 64, "look 1", {"codes": ["x"], "p": float("nan")})
    record.cache_reading("a" * 64, "look 1", {"codes": ["y"]})
    assert record.cached_reading("a" * 64, "look 1") == {"codes": ["x"], "p": None}
    assert record.cached_reading("a" * 64, "look 2") is None


def test_a_release_needs_a_name_and_a_reason(record: Record) -> None:
    run = record.start_run("receive")
    item_id = record.add_item(run.id, item("1", disposition="hold"))
    with pytest.raises(WrongUsage, match="needs the name of a person"):
        record.add_event("release", item_id=item_id, who="", why="ok")
    with pytest.raises(WrongUsage):
        record.add_event("note", why="belongs nowhere")
    record.add_event("release", item_id=item_id, who="Ida Lund", why="the maker answered")
    stored = record.item(item_id)
    assert stored.disposition == "hold", "a release is added, the first answer stays"
    assert stored.events[0].why == "the maker answered"


def test_looking_at_a_part_again_is_not_receiving_it_again(record: Record) -> None:
    looked = record.start_run("verify")
    record.add_item(looked.id, item("1", serials=(SerialRef("A1007"),)))
    assert record.serials_seen(["A1007"]) == []
    received = record.start_run("receive")
    record.add_item(received.id, item("1", serials=(SerialRef("A1007"),)))
    assert [seen.run_id for seen in record.serials_seen(["A1007"])] == [received.id]
