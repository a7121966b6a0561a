"""A person's hold or release is told wherever an item is listed, with name and reason, before the answer's own word.

Common practice in receiving inspection: a tagged part keeps its tag in every list until it is released.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from screener.audit.suppliers import supplier_history
from screener.cli.main import app
from screener.dock.pages.papers import _delivery_report
from screener.receiving.bench import Bench
from screener.receiving.bench_model import HandReading
from screener.records.outcomes import confirm
from screener.records.record import Record
from screener.records.supplier_items import supplier_items

TODAY = dt.date(2026, 11, 25)
ORDER = b"line,quantity,designation,maker,duty,supplier\n5,4,6205-2RS,,wet,Quillhaven\n"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Record.open(tmp_path / "record.sqlite") as record:
        yield Bench(record)


def answered(bench: Bench) -> tuple[int, int]:
    """One line to be sent back: 47 mm outside is no 6205 (ISO 15: 25 x 52 x 15 mm)."""
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_reading(run, "5", HandReading("od_mm", 47.0, "caliper", who="Kim"))
    answer = bench.screen_line(run, "5", TODAY)
    assert answer is not None
    assert answer.word == "reject"
    return run, answer.item_id


def row_of(bench: Bench) -> dict[str, str]:
    (row,) = csv.DictReader(io.StringIO("".join(bench.record.export("csv"))))
    return row


@pytest.mark.parametrize(("kind", "word"), [("hold", "HOLD"), ("release", "USE")])
def test_exports_and_the_report_say_what_a_person_decided(bench: Bench, kind: str, word: str) -> None:
    run, item = answered(bench)
    getattr(bench, kind)(item, "Ola", "measured again")
    row = row_of(bench)
    assert (row["disposition"], row["what_to_do"]) == ("reject", word)
    assert (row["decided"], row["decided_by"], row["decided_why"]) == (kind, "Ola", "measured again")
    (told,) = json.loads("".join(bench.record.export("json")))
    assert (told["disposition"], told["what_to_do"], told["decided"]["who"]) == ("reject", word, "Ola")
    page = bytes(_delivery_report(bench.record, run).body).decode()
    assert f"<b>1</b><span>{word}</span>" in page
    assert "<b>0</b><span>SEND BACK</span>" in page
    assert "by Ola</b>" in page
    assert "measured again" in page
    assert "The answer itself says: SEND BACK" in page


@pytest.mark.parametrize(("kind", "counts"), [("hold", (0, 1, 0)), ("release", (1, 0, 0))])
def test_the_list_of_suppliers_counts_what_holds_now(bench: Bench, kind: str, counts: tuple[int, int, int]) -> None:
    _, item = answered(bench)
    (before,) = bench.suppliers()
    assert (before.use, before.hold, before.send_back) == (0, 0, 1)
    getattr(bench, kind)(item, "Ola", "measured again")
    (shown,) = bench.suppliers()
    assert (shown.use, shown.hold, shown.send_back, shown.items) == (*counts, 1)


def audited(tmp_path: Path) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(
        CliRunner().invoke(app, ["audit", "--record", str(tmp_path / "record.sqlite"), "--json"]).stdout
    )
    return told


def test_the_history_of_a_supplier_counts_as_its_list_does(bench: Bench) -> None:
    _, item = answered(bench)
    bench.hold(item, "Ola", "measured again")
    (shown,) = bench.suppliers()
    (told,) = supplier_history(supplier_items(bench.record)).histories
    counted = {measure: rate.count for measure, rate in told.rates.items()}
    assert (counted["held"], counted["sent_back"]) == (shown.hold, shown.send_back) == (1, 0)


def test_an_audit_keeps_the_hold_of_an_earlier_answer_of_the_line(bench: Bench, tmp_path: Path) -> None:
    run, item = answered(bench)
    bench.hold(item, "Ola", "measured again")
    bench.add_reading(run, "5", HandReading("bore_mm", 25.0, "caliper", who="Kim"))
    later = bench.screen_line(run, "5", TODAY)
    assert later is not None
    assert later.item_id != item
    (unit,) = audited(tmp_path)["units"]
    assert (unit["record"], unit["disposition"], unit["decided"]) == (
        later.item_id,
        "hold",
        "held by Ola: measured again",
    )
    assert unit["own_answer"].startswith("SEND BACK, ")


def test_an_audit_says_that_a_person_released_what_was_found_wrong(bench: Bench, tmp_path: Path) -> None:
    """ISO 9001:2015, 8.7.2 d: the authority that decided about a nonconforming output is documented, with it."""
    _, item = answered(bench)
    bench.release(item, "Ola", "fits after all")
    told = audited(tmp_path)
    assert told["lot"]["word"] == "accept"
    assert "nothing speaks against it" not in told["lot"]["says"]
    assert "released by Ola: fits after all; its own answer: SEND BACK" in told["lot"]["says"]
    assert told["units"][0]["findings"], "what was found stays"
    page = tmp_path / "audit.html"
    CliRunner().invoke(app, ["audit", "--record", str(tmp_path / "record.sqlite"), "--out", str(page)])
    text = page.read_text()
    assert "Own answer: SEND BACK" in text
    assert "Nothing speaks against it" not in text


def test_an_audit_counts_what_a_part_turned_out_to_be(bench: Bench, tmp_path: Path) -> None:
    """ISO 9001:2015, 8.7.2 a: a nonconformity that was confirmed stays one, whoever released the part before."""
    _, item = answered(bench)
    bench.release(item, "Ola", "fits after all")
    confirm(bench.record, item, "nonconforming", who="A. Buyer", why="did not fit")
    told = audited(tmp_path)
    assert (told["lot"]["word"], told["lot"]["nonconforming"]) == ("reject", [item])
    assert told["units"][0]["decided"] == (
        "released by Ola: fits after all; confirmed as nonconforming by A. Buyer: did not fit"
    )
    confirm(bench.record, item, "conforming", who="A. Buyer", why="it was the shaft")
    assert audited(tmp_path)["lot"]["word"] == "accept"
    bench.hold(item, "Ola", "wait")
    (unit,) = audited(tmp_path)["units"]
    assert (unit["disposition"], unit["outcome"]) == ("hold", "conforming"), "held until released"


def test_a_supplier_is_found_however_it_is_written_and_those_known_are_named(bench: Bench, tmp_path: Path) -> None:
    answered(bench)
    where = ("--record", str(tmp_path / "record.sqlite"), "--json")
    found = CliRunner().invoke(app, ["audit", "--supplier", " quillhaven", *where])
    assert len(json.loads(found.stdout)["units"]) == 1
    missed = CliRunner().invoke(app, ["audit", "--supplier", "Moss", *where])
    assert "Quillhaven" in missed.exception.next_step


def test_the_log_says_it_in_the_words_of_the_screen(bench: Bench, tmp_path: Path) -> None:
    _, item = answered(bench)
    where = ("--record", str(tmp_path / "record.sqlite"))
    assert "SEND BACK" in CliRunner().invoke(app, ["log", "show", str(item), *where]).output
    bench.release(item, "Ola", "measured again")
    shown = CliRunner().invoke(app, ["log", "show", str(item), *where]).output
    assert "– USE" in shown.splitlines()[0]
    assert "released by Ola: measured again" in shown
    listed = CliRunner().invoke(app, ["log", "items", *where], env={"COLUMNS": "200"}).output
    assert "USE" in listed
    assert "released by Ola" in listed
    assert "accept" not in listed
