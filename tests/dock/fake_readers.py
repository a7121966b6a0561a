"""Stand-ins for the reader of photos, for tests about HTTP, queues and limits alone. Run in processes of their own."""

from __future__ import annotations

import hashlib
import os
import time
from pathlib import Path

from screener.looking.reading import PhotoReading


def nothing_seen(path: Path) -> PhotoReading:
    return PhotoReading(path.name, hashlib.sha256(path.read_bytes()).hexdigest(), 640, 480)


def slow(path: Path) -> PhotoReading:
    time.sleep(0.3)
    return nothing_seen(path)


def dies(path: Path) -> PhotoReading:
    if b"kill" in path.read_bytes():
        os._exit(9)
    return nothing_seen(path)


def hangs(path: Path) -> PhotoReading:
    if b"hang" in path.read_bytes():
        time.sleep(60)
    return nothing_seen(path)


def takes_all_memory(path: Path) -> PhotoReading:
    if b"memory" in path.read_bytes():
        bytearray(3_000_000_000)
    return nothing_seen(path)
