"""A folder that a camera saves into: only finished files, each once, also over restarts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from screener.receiving.bench import Bench
from screener.receiving.bench_watch import Watcher, shows_by_name
from screener.records.record import Record

ORDER = b"line,quantity,designation,duty\n1,4,6205-2RS C3,wet\n2,1,6203-2Z,dry\n"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Record.open(tmp_path / "bench.sqlite") as record:
        yield Bench(record)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "camera"
    (made / "1").mkdir(parents=True)
    return made


def save(path: Path, shade: int) -> None:
    """A small plain picture: what is seen in it plays no part here."""
    Image.new("RGB", (64, 64), (shade, 120, 130)).save(path, "JPEG")


def watcher(bench: Bench, folder: Path) -> Watcher:
    return Watcher(bench, bench.open_delivery("o.csv", ORDER), folder, workers=1)


def test_a_file_is_taken_once_it_has_stopped_growing(bench: Bench, folder: Path) -> None:
    watch = watcher(bench, folder)
    path = folder / "1" / "face1.jpg"
    save(path, 10)
    assert watch.round() == (), "seen for the first time: it may still be growing"
    with path.open("ab") as file:
        file.write(b"more")
    assert watch.round() == (), "it has grown"
    (taken,) = watch.round()
    assert (taken.photo, taken.line, taken.state, taken.disposition) == ("1/face1.jpg", "1", "taken", "hold")
    assert watch.round() == ()
    (photo,) = bench.delivery(1).lines[0].photos
    assert photo.shows == "face1"


def test_started_again_it_goes_on(bench: Bench, folder: Path) -> None:
    save(folder / "1" / "box.jpg", 10)
    first = watcher(bench, folder)
    first.round()
    assert [t.state for t in first.round()] == ["taken"]
    save(folder / "1" / "face2.jpg", 20)
    second = watcher(bench, folder)
    second.round()
    assert {t.photo: t.state for t in second.round()} == {"1/box.jpg": "known", "1/face2.jpg": "taken"}
    assert [p.shows for p in bench.delivery(1).lines[0].photos] == ["box", "face2"]


def test_a_file_written_on_after_a_pause_replaces_its_beginning(bench: Bench, folder: Path) -> None:
    watch = watcher(bench, folder)
    path = folder / "1" / "box.jpg"
    save(path, 10)
    whole = path.read_bytes()
    path.write_bytes(whole[:-40])
    watch.round()
    assert [t.state for t in watch.round()] == ["unreadable"]
    path.write_bytes(whole)
    watch.round()
    assert [t.state for t in watch.round()] == ["taken"]
    (photo,) = bench.delivery(1).lines[0].photos
    assert photo.state == "read"


def test_what_belongs_to_no_line_is_told_and_left(bench: Bench, folder: Path) -> None:
    watch = watcher(bench, folder)
    save(folder / "IMG_9.jpg", 10)
    (folder / "notes.txt").write_text("no photo")
    (folder / ".hidden.jpg").write_bytes(b"\xff\xd8\xff")
    watch.round()
    (taken,) = watch.round()
    assert (taken.photo, taken.state) == ("IMG_9.jpg", "no line")
    assert taken.says
    assert (folder / "IMG_9.jpg").exists()


@pytest.mark.parametrize(
    ("name", "shows"),
    [
        ("1/face_1.jpg", "face1"),
        ("x face2.JPG", "face2"),
        ("box.jpg", "box"),
        ("LABEL 3.png", "box"),
        ("IMG.jpg", "other"),
    ],
)
def test_names_say_what_a_photo_shows(name: str, shows: str) -> None:
    assert shows_by_name(name) == shows
