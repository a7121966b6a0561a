"""Photos are kept whole, once, under their hash, and nothing from outside can point elsewhere."""

from __future__ import annotations

import hashlib
import os
import time
from pathlib import Path

import pytest

from screener.errors import InputUnreadable, ScreenerError
from screener.records.archive import Archive

# First bytes of formats, from their public specifications.
FORMATS = {
    "jpg": b"\xff\xd8\xff\xe0rest",
    "png": b"\x89PNG\r\n\x1a\nrest",
    "webp": b"RIFF\x00\x00\x00\x00WEBPrest",
    "heic": b"\x00\x00\x00\x18ftypheicrest",
    "tif": b"II*\x00rest",
    "bin": b"no photo at all",
}


@pytest.mark.parametrize(("extension", "content"), FORMATS.items())
def test_a_photo_is_kept_under_its_hash_and_its_true_format(tmp_path: Path, extension: str, content: bytes) -> None:
    archive = Archive(tmp_path / "photos")
    misnamed = tmp_path / "evil.exe"
    misnamed.write_bytes(content)
    sha256 = archive.keep(misnamed)
    assert sha256 == hashlib.sha256(content).hexdigest()
    assert archive.stored_path(sha256) == f"{sha256[:2]}/{sha256[2:4]}/{sha256}.{extension}"
    with archive.open(sha256) as kept:
        assert kept.read() == content


def test_the_same_photo_is_kept_once(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    first = archive.keep(FORMATS["jpg"])
    path = archive.find(first)
    assert path
    before = path.stat().st_mtime_ns
    assert archive.keep(FORMATS["jpg"]) == first
    assert path.stat().st_mtime_ns == before
    assert [each for each in tmp_path.rglob("*") if each.is_file()] == [path]


def test_a_torn_photo_is_replaced_by_a_whole_one(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    sha256 = archive.keep(FORMATS["png"])
    path = archive.find(sha256)
    assert path
    path.write_bytes(b"")
    archive.keep(FORMATS["png"])
    assert path.read_bytes() == FORMATS["png"]


@pytest.mark.parametrize("name", ["../../etc/passwd", "*", "", "A" * 64, "a" * 63, "a" * 64 + "\n"])
def test_only_a_hash_names_a_photo(tmp_path: Path, name: str) -> None:
    archive = Archive(tmp_path / "photos")
    archive.keep(FORMATS["jpg"])
    assert archive.find(name) is None
    with pytest.raises(InputUnreadable, match="not in the archive"):
        archive.open(name)


def test_what_a_crash_left_is_swept_after_a_day(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    archive.keep(FORMATS["jpg"])
    old, fresh = tmp_path / "incoming" / "tmpold", tmp_path / "incoming" / "tmpnew"
    for left in (old, fresh):
        left.write_bytes(b"half")
    os.utime(old, (time.time() - 2 * 86_400,) * 2)
    assert archive.sweep() == 1
    assert fresh.exists()


def test_faults_are_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(InputUnreadable, match="cannot be opened"):
        Archive(tmp_path / "photos").keep(tmp_path / "missing.jpg")
    (tmp_path / "file").write_text("x")
    with pytest.raises(ScreenerError, match="cannot be made"):
        Archive(tmp_path / "file").keep(b"x")
