"""A backlog is read whole, each content once, whoever dies meanwhile. The photos are small and drawn here."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterable, Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest

from screener.errors import InputUnreadable, WrongUsage
from screener.looking.look import READER_VERSION
from screener.looking.reading import PhotoReading
from screener.receiving.backlog import Backlog, on_cores, read_backlog
from screener.receiving.backlog_cluster import on_cluster
from screener.receiving.photo_files import PhotoFile, sha256_of
from screener.records.record import Record


def fill(folder: Path, count: int) -> list[Path]:
    """Small grey pictures with a ring each, no two the same."""
    folder.mkdir(parents=True)
    paths = []
    for number in range(count):
        picture = np.full((120, 160, 3), 90 + number, np.uint8)
        cv2.circle(picture, (80, 60), 20 + number, (200, 200, 200), 6)
        path = folder / f"{number:02d}" / "face.png"
        path.parent.mkdir()
        path.write_bytes(cv2.imencode(".png", picture)[1].tobytes())
        paths.append(path)
    return paths


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    with Record.open(tmp_path / "record.sqlite") as opened:
        yield opened


class Watching:
    """Counts, and does something after each photo."""

    def __init__(self, after: object = None) -> None:
        self.fresh: list[str] = []
        self.remembered: list[str] = []
        self._after = after

    def begin(self, photos: int, items: int) -> None:
        assert items == 0, "a backlog judges nothing"
        self.expected = photos

    def photo_read(self, name: str, *, remembered: bool) -> None:
        (self.remembered if remembered else self.fresh).append(name)
        if callable(self._after):
            self._after(len(self.fresh))

    def item_done(self, key: str, disposition: str) -> None:
        raise AssertionError(f"a backlog judges nothing: {key} {disposition}")


def hold_all(record: Record, paths: Iterable[Path]) -> bool:
    wanted = {sha256_of(path) for path in paths}
    return record.photos_read(wanted, READER_VERSION) == wanted


@pytest.mark.slow
def test_on_cores_each_content_is_read_once_and_a_killed_process_loses_nothing(tmp_path: Path, record: Record) -> None:
    paths = fill(tmp_path / "photos", 5)
    shutil.copy(paths[0], tmp_path / "photos" / "again.png")
    (tmp_path / "photos" / "note.txt").write_text("no photo")
    (tmp_path / "photos" / "broken.jpg").write_bytes(b"no jpeg")

    def kill_a_reader(fresh: int) -> None:
        if fresh == 1:
            os.kill(reading_processes()[0], signal.SIGKILL)

    watching = Watching(kill_a_reader)
    done = read_backlog(tmp_path / "photos", record, reader=on_cores(2), progress=watching)
    assert (done.photos, done.read, done.same_content, done.remembered) == (7, 6, 1, 0)
    assert [name for name, _ in done.unreadable] == ["broken.jpg"]
    assert hold_all(record, [*paths, tmp_path / "photos" / "broken.jpg"])
    assert sorted(watching.fresh) == sorted(set(watching.fresh)), "nothing is doubled"

    second = Watching()
    assert read_backlog(tmp_path / "photos", record, reader=no_reader, progress=second) == Backlog(7, 0, 7, 0, [])
    assert (second.expected, len(second.remembered)) == (7, 7)


def reading_processes() -> list[int]:
    """Processes started by this one by multiprocessing's spawn."""
    import multiprocessing

    return [child.pid for child in multiprocessing.active_children() if child.pid]


def no_reader(photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
    assert list(photos) == [], "everything is remembered"
    return iter(())


def test_a_reader_is_given_a_few_photos_at_a_time(tmp_path: Path, record: Record) -> None:
    """Whoever reads pulls; nothing is listed ahead that a large folder could fill memory with."""
    fill(tmp_path / "photos", 5)
    pulled = 0

    def slow(photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
        nonlocal pulled
        for photo in photos:
            pulled += 1
            yield photo, PhotoReading(str(photo.path), sha256=photo.sha256)

    seen: list[int] = []
    read_backlog(tmp_path / "photos", record, reader=slow, progress=Watching(lambda _: seen.append(pulled)))
    assert seen == [1, 2, 3, 4, 5]


def test_an_interrupted_backlog_goes_on_where_it_stopped(tmp_path: Path, record: Record) -> None:
    fill(tmp_path / "photos", 4)

    def stop(fresh: int) -> None:
        if fresh == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        read_backlog(tmp_path / "photos", record, reader=on_cores(1), progress=Watching(stop))
    done = read_backlog(tmp_path / "photos", record, reader=on_cores(1))
    assert (done.remembered, done.read) == (2, 2)


def test_what_is_not_there_is_said(tmp_path: Path, record: Record) -> None:
    with pytest.raises(InputUnreadable, match="no such folder"):
        read_backlog(tmp_path / "nowhere", record)


@pytest.mark.slow
def test_on_a_cluster_a_killed_worker_loses_nothing_and_doubles_nothing(tmp_path: Path, record: Record) -> None:
    distributed = pytest.importorskip("distributed")
    paths = fill(tmp_path / "photos", 6)
    with distributed.LocalCluster(
        n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None, local_directory=str(tmp_path)
    ) as cluster:
        with distributed.Client(cluster) as client:
            pids = list(client.run(os.getpid).values())

        def kill_one(fresh: int) -> None:
            if fresh == 2:
                os.kill(pids[0], signal.SIGKILL)

        watching = Watching(kill_one)
        reader = on_cluster(cluster.scheduler_address)
        done = read_backlog(tmp_path / "photos", record, reader=reader, progress=watching)
        with distributed.Client(cluster) as client:
            assert pids[0] not in client.run(os.getpid).values()
    assert (done.photos, done.read, done.unreadable) == (6, 6, [])
    assert hold_all(record, paths)
    assert sorted(watching.fresh) == sorted(set(watching.fresh))


def test_no_scheduler_is_said_plainly(tmp_path: Path, record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("screener.receiving.backlog_cluster._SECONDS_TO_CONNECT", 1)
    fill(tmp_path / "photos", 1)
    with pytest.raises(WrongUsage, match="no scheduler answers"):
        read_backlog(tmp_path / "photos", record, reader=on_cluster("tcp://127.0.0.1:9"))
