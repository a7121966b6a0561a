"""Several programs on one record at once: nothing lost, nothing doubled. Real processes on SQLite and, where its
programs are installed, on a throw-away PostgreSQL server."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from screener.errors import ScreenerError
from screener.records.model import ItemRecord, PhotoRef, SerialRef
from screener.records.record import Record

STATION = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from screener.records.model import ItemRecord, PhotoRef
    from screener.records.record import Record

    target, photos, station, count = sys.argv[1], Path(sys.argv[2]), sys.argv[3], int(sys.argv[4])
    with Record.open(target, photos=photos) as record:
        resumed = record.start_or_resume("receive", order_sha256="a" * 64)
        for number in range(count):
            shared = record.archive.keep(b"BM shared " + str(number).encode())
            for key in (f"{station}-{number}", f"both-{number}"):
                record.add_item(resumed.run.id, ItemRecord(
                    item_key=key, fingerprint=key, result={"by": "any"}, disposition="accept", suspicion="none",
                    photos=(PhotoRef(shared, "s.bmp"),)))
            record.cache_reading(shared, "v1", {"n": number})
    """
)
COUNT = 15


def run_stations(target: str, photos: Path) -> None:
    stations = [
        subprocess.Popen([sys.executable, "-c", STATION, target, str(photos), name, str(COUNT)], stderr=subprocess.PIPE)
        for name in ("a", "b")
    ]
    for station in stations:
        _, errors = station.communicate(timeout=120)
        assert station.returncode == 0, errors.decode()


def check_nothing_lost_or_doubled(record: Record) -> None:
    keys = sorted(item.item_key for item in record.items())
    expected = sorted(f"{who}-{number}" for who in ("a", "b", "both") for number in range(COUNT))
    assert keys == expected


def test_two_stations_on_one_sqlite_file(tmp_path: Path) -> None:
    # Both also make the new database at the same moment.
    target = tmp_path / "record.sqlite"
    run_stations(str(target), tmp_path / "photos")
    with Record.open(target) as record:
        check_nothing_lost_or_doubled(record)


def test_a_record_kept_busy_is_said_plainly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("screener.records.database.BUSY_SECONDS", 0.2)
    target = tmp_path / "record.sqlite"
    Record.open(target).close()
    with Record.open(target) as record:
        other = sqlite3.connect(target, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(ScreenerError, match="busy") as caught:
            record.start_run("verify")
        assert caught.value.code == "record_busy"
        other.execute("ROLLBACK")
        other.close()
        assert record.start_run("verify").id == 1


@pytest.fixture(scope="module")
def postgres() -> Iterator[str]:
    """A server of its own on a socket in a temporary folder."""
    pytest.importorskip("psycopg")
    if not (shutil.which("initdb") and shutil.which("postgres") and shutil.which("pg_ctl")):
        pytest.skip("PostgreSQL's programs are not installed")
    # Not pytest's folder: it shuts its folders to others, and the server refuses to run as root.
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    user = "nobody" if os.geteuid() == 0 else None
    if user:
        shutil.chown(folder, user)
    data = folder / "data"

    def call(*words: str) -> None:
        subprocess.run(words, check=True, user=user, cwd=folder, stdout=subprocess.DEVNULL, timeout=60)

    call("initdb", "-D", str(data), "-U", "shop", "-A", "trust", "--no-sync")
    call(
        "pg_ctl", "-D", str(data), "-w", "-o", f"-k {folder} -c listen_addresses=''", "-l", str(folder / "log"), "start"
    )
    try:
        yield f"postgresql://shop@/postgres?host={folder}"
    finally:
        call("pg_ctl", "-D", str(data), "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def test_two_stations_on_one_postgresql_server(postgres: str, tmp_path: Path) -> None:
    run_stations(postgres, tmp_path / "photos")
    with Record.open(postgres, photos=tmp_path / "photos") as record:
        check_nothing_lost_or_doubled(record)
        photo = record.archive.keep(b"GIF8 \0 nul")
        run = record.start_run("receive")
        refs = (SerialRef("S\0 1"),)
        item_id = record.add_item(
            run.id, ItemRecord("n\0", "f", {"a\0": "b\0"}, "hold", "weak", photos=(PhotoRef(photo, "x"),), serials=refs)
        )
        record.finish(run.id)
        assert record.item(item_id).result == {"a␀": "b␀"}
        assert record.serials_seen(["S\0 1"])
        for statement in ("UPDATE items SET line = ''", "DELETE FROM events", "TRUNCATE serials"):
            with pytest.raises(sa.exc.DBAPIError, match="append-only"), record._engine.begin() as connection:
                connection.execute(sa.text(statement))
