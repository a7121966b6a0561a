"""Opening photos. Outside facts: the EXIF 2.3 orientation table, PNG chunks (RFC 2083), OpenCV as a second decoder."""

from __future__ import annotations

import hashlib
import io
import struct
import sys
import zlib

import cv2
import numpy as np
import pytest
from PIL import Image

from screener.errors import InputUnreadable
from screener.vision import photo as photo_module
from screener.vision.photo import MAX_PIXELS, open_photo, open_photo_bytes

RED, GREEN, BLUE = (220, 20, 20), (20, 200, 20), (20, 20, 220)


def corner_picture(width: int = 80, height: int = 64) -> Image.Image:
    """Red top left, green top right, blue elsewhere: tells every orientation apart."""
    pixels = np.zeros((height, width, 3), np.uint8) + np.array(BLUE, np.uint8)
    pixels[: height // 2, : width // 2] = RED
    pixels[: height // 2, width // 2 :] = GREEN
    return Image.fromarray(pixels)


def encoded(image: Image.Image, kind: str = "PNG", **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def png_header_only(width: int, height: int) -> bytes:
    """A PNG that promises width × height pixels and holds none (RFC 2083 chunks)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    ihdr = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", ihdr) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def refused(name: str, data: bytes) -> InputUnreadable:
    with pytest.raises(InputUnreadable) as caught:
        open_photo_bytes(name, data)
    error = caught.value
    assert error.where == name
    assert error.says.endswith(".")
    assert error.next_step
    return error


def test_reads_pixels_hash_and_gray():
    data = encoded(corner_picture())
    photo = open_photo_bytes("a.png", data)
    assert photo.sha256 == hashlib.sha256(data).hexdigest()
    assert (photo.width_px, photo.height_px) == (80, 64)
    assert tuple(photo.rgb[0, 0]) == RED
    assert tuple(photo.rgb[0, -1]) == GREEN
    # Oracle: BT.601 luma written out.
    assert photo.gray[0, 0] == pytest.approx(0.299 * 220 + 0.587 * 20 + 0.114 * 20, abs=1)
    assert photo.gray is photo.gray
    assert photo.problems == ()


# Source: EXIF 2.3, tag 274: where the stored 0th row and 0th column belong in the upright picture.
_STORED_FROM_UPRIGHT = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, -1),
}


@pytest.mark.parametrize("orientation", sorted(_STORED_FROM_UPRIGHT))
def test_every_exif_orientation_comes_out_upright(orientation):
    upright = np.asarray(corner_picture())
    stored = Image.fromarray(np.ascontiguousarray(_STORED_FROM_UPRIGHT[orientation](upright)))
    exif = Image.Exif()
    exif[274] = orientation
    photo = open_photo_bytes("phone.png", encoded(stored, exif=exif))
    np.testing.assert_array_equal(photo.rgb, upright)


def test_agrees_with_opencv_on_a_rotated_jpeg():
    # Oracle: cv2.imdecode, which applies the EXIF orientation by itself.
    exif = Image.Exif()
    exif[274] = 6
    data = encoded(corner_picture(), "JPEG", exif=exif, quality=95)
    theirs = cv2.cvtColor(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    ours = open_photo_bytes("phone.jpg", data).rgb
    assert ours.shape == theirs.shape == (80, 64, 3)
    assert np.abs(ours.astype(int) - theirs).mean() < 2.0


def test_focal_length_from_exif():
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    assert open_photo_bytes("a.jpg", encoded(corner_picture(), "JPEG", exif=exif)).focal_35mm == 26.0
    exif.get_ifd(0x8769)[0xA405] = 0
    assert open_photo_bytes("a.jpg", encoded(corner_picture(), "JPEG", exif=exif)).focal_35mm is None


def test_damaged_exif_does_not_lose_the_photo():
    data = encoded(corner_picture(), "JPEG", exif=b"Exif\x00\x00MM\x00*\xff\xff\xff\xff garbage")
    assert open_photo_bytes("a.jpg", data).width_px == 80


@pytest.mark.parametrize("mode", ["L", "P", "1", "CMYK", "RGBA", "LA", "YCbCr"])
def test_other_colour_modes(mode):
    kind = {"CMYK": "JPEG", "YCbCr": "JPEG"}.get(mode, "PNG")
    picture = corner_picture().quantize(8) if mode == "P" else corner_picture().convert(mode)
    photo = open_photo_bytes("a", encoded(picture, kind))
    assert photo.rgb.shape == (64, 80, 3)
    assert photo.rgb.dtype == np.uint8
    assert photo.rgb.flags["C_CONTIGUOUS"]
    if mode in {"P", "CMYK", "RGBA"}:
        np.testing.assert_allclose(photo.rgb[2, 2], RED, atol=12)


def test_transparent_parts_become_white():
    layered = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert open_photo_bytes("a.png", encoded(layered)).rgb.min() == 255


def test_sixteen_bit_gray_keeps_its_shades():
    shades = np.tile(np.linspace(0, 65535, 64).astype(np.uint16), (40, 1))
    photo = open_photo_bytes("a.png", encoded(Image.fromarray(shades)))
    np.testing.assert_allclose(photo.gray[0], shades[0] / 257.0, atol=1.0)


def test_text_named_jpg():
    error = refused("note.jpg", b"this is a delivery note, not a photo\n" * 20)
    assert error.code == "not_an_image"
    assert "text" in error.says


@pytest.mark.parametrize("data", [b"\x00\x01\x02" * 50, b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 99 99\n"])
def test_other_files_are_refused(data):
    assert refused("x.jpg", data).code == "not_an_image"


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.95])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_file_cut_short_is_refused(kind, keep):
    noise = Image.fromarray(np.random.default_rng(5).integers(0, 255, (200, 200, 3), np.uint8))
    data = encoded(noise, kind)
    assert refused("cut", data[: int(len(data) * keep)]).code in {"truncated", "damaged"}


def test_pixel_bomb_is_refused_before_decoding(monkeypatch):
    monkeypatch.setattr(photo_module, "_decode", lambda *_: pytest.fail("decoded"))
    assert refused("bomb.png", png_header_only(20_000, 20_000)).code == "too_many_pixels"
    assert refused("bomb.png", png_header_only(20_000, MAX_PIXELS // 20_000 + 1)).code == "too_many_pixels"
    assert refused("long.png", png_header_only(40_000, 40)).code == "too_many_pixels"


def test_tiny_picture_is_refused():
    assert refused("icon.png", encoded(Image.new("RGB", (16, 16)))).code == "too_small"


def test_missing_folder_and_empty_files(tmp_path):
    for name, code in [("nothing.jpg", "missing"), (".", "is_folder")]:
        with pytest.raises(InputUnreadable) as caught:
            open_photo(tmp_path / name)
        assert caught.value.code == code
    empty = tmp_path / "empty.jpg"
    empty.touch()
    with pytest.raises(InputUnreadable) as caught:
        open_photo(empty)
    assert caught.value.code == "empty_file"


def test_huge_file_is_refused_without_reading(tmp_path):
    huge = tmp_path / "huge.jpg"
    with huge.open("wb") as out:
        out.truncate(photo_module.MAX_FILE_BYTES + 1)
    with pytest.raises(InputUnreadable) as caught:
        open_photo(huge)
    assert caught.value.code == "too_large"


def test_further_pages_are_mentioned():
    pages = [corner_picture(), corner_picture()]
    data = encoded(pages[0], "TIFF", save_all=True, append_images=pages[1:])
    assert [p.code for p in open_photo_bytes("scan.tif", data).problems] == ["first_page_only"]


def test_heic_without_the_reader_names_the_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    error = refused("IMG_1.HEIC", b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")
    assert error.code == "heic_not_installed"
    assert "screener[heic]" in error.next_step


def test_damaged_heic_with_the_reader():
    pytest.importorskip("pi_heif")
    assert refused("IMG_1.HEIC", b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 99).code == "damaged"
