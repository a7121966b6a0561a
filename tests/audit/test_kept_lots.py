"""A supplier's next lot is inspected by its earlier ones: the switching rules of ISO 2859-1 on what is kept."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from reports.making import screened
from typer.testing import CliRunner

from screener.cli.main import app
from screener.records.kept_lots import KeptLot, keep_lot
from screener.records.model import ItemRecord, PhotoRef
from screener.records.record import Record
from screener.records.result_json import item_as_json

SAMPLE = 20
"""MIL-STD-105E, tables I and II-A (the same in ISO 2859-1): lot of 100, level II: letter F, 20 units;
AQL 4.0: 20 units, 2/3 on normal, 1/2 on tightened inspection (table II-B)."""


def run(*arguments: object) -> Any:
    return CliRunner().invoke(app, [str(each) for each in arguments])


def receive(place: Path, supplier: str, rejected: int, count: int = SAMPLE) -> int:
    with Record.open(place) as record:
        number = record.start_run("receive", order_name="order.csv").id
        photo = (PhotoRef(record.archive.keep(f"{place}{number}".encode()), "a.jpg"),)
        result = {**item_as_json(screened()), "findings": [], "exit": "use"}
        for at in range(count):
            word = "reject" if at < rejected else "accept"
            document = {**result, "exit": "send back" if word == "reject" else "use", "disposition": word}
            key = f"{number}/{at}"
            record.add_item(number, ItemRecord(key, key, document, word, "none", "6205", supplier, "1", photo))
    return number


def audit(place: Path, number: int, *more: object) -> dict[str, Any]:
    done = run("audit", number, "--record", place, "--lot", 100, "--aql", "4.0", "--json", *more)
    assert done.exit_code in {0, 10, 20}, (done.output, done.exception)
    return json.loads(done.stdout)["lot"]


def keep_all(place: Path, supplier: str, rejected: Sequence[int]) -> None:
    for count in rejected:
        audit(place, receive(place, supplier, count), "--keep", "--by", "B. Buyer")


def test_two_lots_not_accepted_make_the_next_one_tightened_and_a_typed_word_stands_over_it(tmp_path: Path) -> None:
    """ISO 2859-1, 9.3.1 (MIL-STD-105E, 4.7.1): two of five or fewer consecutive lots not accepted."""
    place = tmp_path / "record.sqlite"
    keep_all(place, "Lund", (3, 0, 4))
    keep_all(place, "Moss", (0,))
    last = receive(place, "Lund", 2)
    assert audit(place, last)["plan"]["severity"] == "tightened"
    assert audit(place, last)["plan"]["reject"] == 2, "table II-B"
    assert audit(place, last, "--severity", "normal")["plan"]["reject"] == 3, "table II-A"
    assert audit(place, last, "--history", "0,0")["plan"]["severity"] == "normal"
    assert audit(place, receive(place, "Moss", 0))["plan"]["severity"] == "normal", "another supplier's lots"
    told = json.loads(run("plan", "--lot", 100, "--aql", "4", "--supplier", "Lund", "--record", place, "--json").stdout)
    assert (told["severity"], len(told["switching"]["lots"])) == ("tightened", 3)
    other = json.loads(
        run("plan", "--lot", 100, "--aql", "1", "--supplier", "Lund", "--record", place, "--json").stdout
    )
    assert other["severity"] == "normal", "kept with another AQL"


def test_a_lot_kept_again_counts_once_and_never_for_itself(tmp_path: Path) -> None:
    place = tmp_path / "record.sqlite"
    number = receive(place, "Lund", 3)
    for _ in range(3):
        assert audit(place, number, "--keep", "--by", "B. Buyer")["plan"]["severity"] == "normal"


def test_five_not_accepted_on_tightened_stop(tmp_path: Path) -> None:
    """ISO 2859-1, 9.4 (MIL-STD-105E, 4.8): five lots not accepted on tightened inspection."""
    place = tmp_path / "record.sqlite"
    keep_all(place, "Lund", (3, 3, 3, 3, 3, 3, 3))
    judged = audit(place, receive(place, "Lund", 0))
    assert judged["word"] == "hold"
    assert judged["reasons"][0]["code"] == "stopped"


def test_reduced_is_allowed_once_and_lasts_until_somebody_goes_back(tmp_path: Path) -> None:
    """ISO 2859-1:1999, 9.3.3.1 to 9.3.3.3 (from memory): 30 points, steady deliveries, and allowed by a person.

    Lot of 100, AQL 4.0, normal: Ac 2, one step tighter (2.5) Ac 1: three points a lot on which none is found.
    """
    place = tmp_path / "record.sqlite"
    asked = ("plan", "--lot", 100, "--aql", "4", "--supplier", "Lund", "--record", place, "--json")

    def kept(severity: str) -> None:
        with Record.open(place) as record:
            run_id = record.start_run("receive").id
            keep_lot(record, KeptLot("Lund", (run_id,), 100, 0, True, "4.0", "II", severity), who="B. Buyer")

    def next_one(*more: object) -> str:
        return str(json.loads(run(*asked, *more).stdout)["severity"])

    for _ in range(9):
        kept("normal")
    assert next_one("--allow-reduced") == "normal", "27 points"
    kept("normal")
    assert (next_one(), next_one("--allow-reduced")) == ("normal", "reduced")
    last = receive(place, "Lund", 0)
    assert audit(place, last, "--allow-reduced")["plan"]["sample"] == 8, "MIL-STD-105E, table II-C, letter F"
    kept("reduced")
    assert next_one() == "reduced", "allowed before"
    kept("normal")
    assert next_one("--allow-reduced") == "normal", "the score begins again"


def test_only_a_decided_lot_of_one_supplier_by_a_named_person_is_kept(tmp_path: Path) -> None:
    place = tmp_path / "record.sqlite"
    number = receive(place, "Lund", 0, count=5)
    asked = ("audit", number, "--record", place, "--lot", 100, "--aql", "4.0")
    assert "decided by its count" in str(run(*asked, "--keep", "--by", "B. Buyer").exception)
    full = receive(place, "Lund", 0)
    assert "name of who decided" in str(run("audit", full, *asked[2:], "--keep").exception)
    receive(place, "Moss", 0)
    both = run("audit", *asked[2:])
    assert both.exception.exit_code == 2
    assert "Lund (25), Moss (20)" in str(both.exception)
