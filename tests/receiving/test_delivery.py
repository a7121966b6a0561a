"""A whole delivery: every line judged, everything recorded, and nothing lost when it is killed."""

from __future__ import annotations

import csv
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from screener.receiving.delivery import receive
from screener.records.record import Record

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def small_order(tmp_path_factory):
    """Three lines of the sample delivery with their photos."""
    folder = tmp_path_factory.mktemp("small")
    with (SAMPLES / "order.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["line"] in {"3", "5", "18"}]
    with (folder / "order.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    for line in ("03", "05"):
        shutil.copytree(SAMPLES / "photos" / line, folder / "photos" / line)
    (folder / "photos" / "03" / "note.jpg").write_text("no photo at all")
    (folder / "photos" / "list.txt").write_text("not a photo")
    return folder


@pytest.mark.slow
def test_a_delivery_is_judged_and_recorded(small_order, tmp_path):
    with Record.open(tmp_path / "r.sqlite") as record:
        first = receive(small_order / "order.csv", small_order / "photos", record, workers=1)
        words = {s.item.key: s.disposition.word for s in first.items}
        # A shielded bearing ordered and delivered for a dry place; a shielded one in a box that says 2RS for a wet one.
        assert words == {"3": "accept", "5": "reject", "18": "hold"}
        assert [u.photo for u in first.unreadable] == ["03/note.jpg"]
        assert [u.photo for u in first.unassigned] == ["list.txt"]
        stored = {s.item_key: s.disposition for s in record.items(run=first.run_id)}
        assert stored == words
        for item in record.items(run=first.run_id):
            for photo in item.photos:
                assert record.archive.find(photo.sha256)
        before = time.monotonic()
        again = receive(small_order / "order.csv", small_order / "photos", record, workers=1)
        assert {s.item.key: s.disposition for s in again.items} == {s.item.key: s.disposition for s in first.items}
        assert time.monotonic() - before < 20
        assert again.run_id != first.run_id


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX")
def test_killed_at_any_moment_it_goes_on(small_order, tmp_path):
    record_path = tmp_path / "r.sqlite"
    command = [sys.executable, "-c", "from screener.cli.main import run; run()", "receive", "--workers", "1"]
    command += ["--order", str(small_order / "order.csv"), "--photos", str(small_order / "photos")]
    command += ["--record", str(record_path), "--report", str(tmp_path / "report.html")]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while running.poll() is None and _readings(record_path) < 3:
        time.sleep(0.1)
    running.send_signal(signal.SIGKILL)
    running.wait()
    kept = _readings(record_path)
    assert kept >= 3
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 20, done.stderr
    with Record.open(record_path) as record:
        runs = record.runs()
        assert len(runs) == 1, "the second call goes on with the first one's run"
        assert runs[0].finished_at is not None
        assert sorted(s.item_key for s in record.items()) == ["18", "3", "5"]
    assert "6204-2RS" in (tmp_path / "report.html").read_text(encoding="utf-8")


def _readings(path: Path) -> int:
    import sqlite3

    if not path.exists():
        return 0
    try:
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as connection:
            return int(connection.execute("select count(*) from readings").fetchone()[0])
    except sqlite3.Error:
        return 0
