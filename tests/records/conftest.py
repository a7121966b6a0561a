"""An open record in a folder of its own, and the bytes of small photos."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from screener.records.record import Record


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    with Record.open(tmp_path / "record.sqlite") as opened:
        yield opened


@pytest.fixture
def jpeg() -> Callable[[int], bytes]:
    """A different small JPEG for each shade."""

    def make(shade: int) -> bytes:
        out = io.BytesIO()
        Image.new("RGB", (8, 8), (shade % 256, 40, 90)).save(out, "JPEG")
        return out.getvalue()

    return make
