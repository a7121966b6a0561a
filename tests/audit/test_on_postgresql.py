"""An audit, and a backlog before it, say the same whether the record is a file or a PostgreSQL server.

The server is a throw-away one of the machine's own PostgreSQL; where there is none, this is skipped.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from audit import measure_audit
from receiving.test_backlog import fill as draw_photos
from records.test_two_writers import postgres  # noqa: F401 a fixture
from typer.testing import CliRunner

from screener.cli.main import app
from screener.looking.look import READER_VERSION
from screener.looking.reading import PhotoReading
from screener.receiving.backlog import Backlog, read_backlog
from screener.receiving.photo_files import PhotoFile
from screener.records.purchases import Purchase, Shop
from screener.records.record import Record

MOMENT = "2026-11-25T08:00:00.000000Z"


def seen(photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
    """A reader that needs no time."""
    for photo in photos:
        yield photo, PhotoReading(photo.name, photo.sha256)


def audited(place: str, photos: Path, folder: Path, name: str) -> tuple[Any, str, str, list[Backlog]]:
    """The audit's JSON, its tables, the report of a supplier's purchase, and two runs over the same backlog."""
    with Record.open(place, photos=folder / f"{name}-kept") as record:
        run = measure_audit.fill(record, 60, per_designation=10)
        record.keep_purchase(run, Purchase("PO 4711", received=38), line="1")
        record.keep_shop(Shop("Harbour Laundry", ("Quay 3",)))
        assert record.shop() == Shop("Harbour Laundry", ("Quay 3",))
        assert record.purchase(run, "1") == Purchase("PO 4711", received=38)
        runs = [read_backlog(photos, record, reader=seen) for _ in range(2)]
        stood = record.cached_looks([photo.sha256 for photo, _ in seen(kept(photos))], READER_VERSION)
    table = folder / f"{name}.csv"
    said = CliRunner().invoke(app, ["audit", "--record", place, "--lot", "600", "--json", "--out", str(table)])
    assert said.stdout, said.output
    return json.loads(said.stdout), table.read_text(encoding="utf-8"), json.dumps(stood, sort_keys=True), runs


def kept(folder: Path) -> list[PhotoFile]:
    from screener.receiving.photo_files import sha256_of

    return [PhotoFile(path.name, path, sha256_of(path)) for path in sorted(folder.rglob("*.png"))]


def test_an_audit_on_postgresql_is_that_on_sqlite(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = request.getfixturevalue("postgres")
    monkeypatch.setattr(measure_audit, "utc_now", lambda: MOMENT)
    draw_photos(tmp_path / "photos", 3)
    on_file = audited(str(tmp_path / "record.sqlite"), tmp_path / "photos", tmp_path, "file")
    on_server = audited(server, tmp_path / "photos", tmp_path, "server")
    assert on_server == on_file
    document, table, _, (first, again) = on_server
    assert len(document["units"]) == 60
    assert table.count("\n") > 60
    assert (first.read, first.remembered, again.read, again.remembered) == (3, 0, 0, 3)
