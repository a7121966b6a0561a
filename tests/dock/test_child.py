"""The process that opens what strangers sent: whatever happens in it, only its task is lost."""

from __future__ import annotations

import io
import struct
import sys
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from dock import fake_readers
from PIL import Image

from screener.dock.child import Child, Stopped
from screener.dock.photos import small_jpeg
from screener.errors import InputUnreadable
from screener.receiving.bench import order_of_bytes


@pytest.fixture(scope="module")
def child() -> Iterator[Child]:
    made = Child(1_500_000_000)
    yield made
    made.close()


def file(folder: Path, content: bytes) -> Path:
    path = folder / "x.jpg"
    path.write_bytes(content)
    return path


def test_a_death_costs_one_task_only(child: Child, tmp_path: Path) -> None:
    with pytest.raises(Stopped, match="stopped on this file"):
        child.do(fake_readers.dies, file(tmp_path, b"kill"), seconds=30)
    assert child.do(fake_readers.dies, file(tmp_path, b"fine"), seconds=30).readable


def test_what_takes_too_long_is_ended(child: Child, tmp_path: Path) -> None:
    child.do(fake_readers.hangs, file(tmp_path, b"fine"), seconds=30)
    begun = time.monotonic()
    with pytest.raises(Stopped, match="too long"):
        child.do(fake_readers.hangs, file(tmp_path, b"hang"), seconds=0.5)
    assert time.monotonic() - begun < 20
    assert child.do(fake_readers.hangs, file(tmp_path, b"fine"), seconds=30).readable


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such limit")
def test_memory_has_a_limit(child: Child, tmp_path: Path) -> None:
    with pytest.raises(Stopped, match="MemoryError"):
        child.do(fake_readers.takes_all_memory, file(tmp_path, b"memory"), seconds=30)


def test_an_error_for_people_comes_through(child: Child) -> None:
    with pytest.raises(InputUnreadable, match=r"^o\.csv: this order is empty"):
        child.do(order_of_bytes, "o.csv", b" ", seconds=30)


def test_a_picture_that_unpacks_to_a_gigapixel_is_refused(child: Child, tmp_path: Path) -> None:
    # PNG specification (ISO/IEC 15948): a header may promise any size.
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", 40_000, 40_000, 8, 2, 0, 0, 0)
    bomb = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1_000_000))
        + chunk(b"IEND", b"")
    )
    with pytest.raises(InputUnreadable, match="cannot be shown"):
        child.do(small_jpeg, file(tmp_path, bomb), 400, seconds=30)


def test_a_small_copy_is_upright_and_small(child: Child, tmp_path: Path) -> None:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32: turn by 90 degrees to show.
    Image.new("RGB", (1600, 800), (200, 10, 10)).save(out, "JPEG", exif=exif)
    made = Image.open(io.BytesIO(child.do(small_jpeg, file(tmp_path, out.getvalue()), 400, seconds=30)))
    assert made.size == (200, 400)
