"""Photos of every kind the bench meets become small upright JPEGs; the rest becomes nothing, without harm."""

from __future__ import annotations

import base64
import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image
from reports.making import photo

from screener.reports.small_photo import small_photo


def shown(uri: str) -> Image.Image:
    return Image.open(io.BytesIO(base64.b64decode(uri.removeprefix("data:image/jpeg;base64,"))))


@pytest.mark.parametrize(
    ("form", "mode"), [("JPEG", "RGB"), ("JPEG", "CMYK"), ("PNG", "RGBA"), ("PNG", "L"), ("WEBP", "RGB")]
)
def test_usual_photos_are_shown(form: str, mode: str) -> None:
    small = small_photo(photo(400, 200, form=form, mode=mode), 100)
    assert small
    assert (small.width_px, small.height_px) == (400, 200)
    assert shown(small.uri).size == (100, 50)


def test_a_16_bit_photo_keeps_its_greys() -> None:
    out = io.BytesIO()
    Image.fromarray(np.full((20, 20), 32768, np.uint16)).save(out, "PNG")
    small = small_photo(out.getvalue(), 100)
    assert small
    assert abs(shown(small.uri).convert("L").getpixel((5, 5)) - 128) <= 2  # type: ignore[operator]


def test_a_turned_photo_is_shown_upright() -> None:
    small = small_photo(photo(400, 200, exif_turn=8), 100)
    assert small
    assert (small.width_px, small.height_px) == (200, 400)
    assert shown(small.uri).size == (50, 100)
    assert not dict(shown(small.uri).getexif()), "nothing of the camera's data is passed on"


def bomb(side: int) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 9)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "content", [b"", b"text", photo()[:200], bomb(20_000), bomb(60_000), b"<svg onload='x'/>", b"%PDF-1.4"]
)
def test_what_is_no_photo_becomes_nothing(content: bytes) -> None:
    assert small_photo(content, 100) is None
