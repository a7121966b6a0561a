"""Killed at any moment, the record loses no finished item and the next attempt goes on. The processes are real."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from screener.records.record import Record

RECEIVE = textwrap.dedent(
    """
    import sys, hashlib
    from pathlib import Path
    from screener.records.model import ItemRecord, PhotoRef
    from screener.records.record import Record

    target, last = Path(sys.argv[1]), int(sys.argv[2])
    with Record.open(target) as record:
        resumed = record.start_or_resume("receive", order_name="o.csv", order_sha256="a" * 64)
        print("resumed", len(resumed.finished_items), flush=True)
        for number in range(last):
            key = str(number)
            if key in resumed.finished_items:
                continue
            photo = record.archive.keep(b"\\xff\\xd8\\xff" + key.encode() * 5000)
            record.add_item(resumed.run.id, ItemRecord(
                item_key=key, fingerprint=key, result={"item": key}, disposition="accept", suspicion="none",
                photos=(PhotoRef(photo, key + ".jpg"),)))
            print("done", key, flush=True)
        record.finish(resumed.run.id)
    """
)


def start(target: Path, last: int) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-c", RECEIVE, str(target), str(last)], stdout=subprocess.PIPE, text=True)


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is a POSIX signal")
@pytest.mark.parametrize("after_items", [0, 9])
def test_kill_9_loses_no_finished_item(tmp_path: Path, after_items: int) -> None:
    target = tmp_path / "record.sqlite"
    process = start(target, 10_000)
    assert process.stdout
    said_done = []
    for line in process.stdout:
        if line.startswith("done"):
            said_done.append(line.split()[1])
        if len(said_done) >= after_items:
            break
    time.sleep(0.003)
    process.send_signal(signal.SIGKILL)
    said_done += [line.split()[1] for line in process.stdout if line.startswith("done") and line.endswith("\n")]
    assert process.wait() == -signal.SIGKILL

    with Record.open(target) as record:
        kept = {item.item_key: item for item in record.items()}
        assert set(said_done) <= set(kept)
        assert len(kept) - len(said_done) in {0, 1}, "at most the item that was committed but not yet announced"
        for key, item in kept.items():
            assert item.result == {"item": key}
            assert record.archive.open(item.photos[0].sha256).read().startswith(b"\xff\xd8\xff")
        assert all(run.finished_at is None for run in record.runs())

    last = len(kept) + 3
    second = start(target, last)
    out, _ = second.communicate(timeout=60)
    assert second.returncode == 0
    assert f"resumed {len(kept)}" in out
    with Record.open(target) as record:
        assert [item.item_key for item in record.items()] == [str(number) for number in range(last)]
        assert len({run.id for run in record.runs()}) == 1
        assert record.runs()[0].finished_at
