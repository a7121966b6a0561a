"""Open a photo safely: from untrusted bytes to upright 8-bit RGB pixels, or a sentence saying why not.

Only this module decodes pictures. Headers are judged before pixels are decoded, only formats that cameras and scanners
write are tried (no PostScript, no vector formats), and the EXIF orientation is applied once, here, by Pillow.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import warnings
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import ExifTags, Image, ImageOps

from screener.errors import InputUnreadable
from screener.vision.model import Problem

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

MAX_PIXELS = 64_000_000
"""Largest picture decoded. 64 MP takes about 450 MB while decoding; phones deliver 12 to 50 MP."""

MAX_SIDE_PX = 30_000
"""``cv2.remap`` addresses pixels with 16-bit signed numbers."""

MIN_SIDE_PX = 32
"""Nothing of a part can be seen in fewer pixels."""

MAX_FILE_BYTES = 200_000_000
"""Larger files are not read into memory at all."""

FORMATS = ("JPEG", "MPO", "PNG", "WEBP", "TIFF", "BMP", "GIF", "AVIF")
"""What is tried, besides HEIC: raster formats that cameras, scanners and chat programs write."""

_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")


@dataclass(frozen=True, eq=False)
class Photo:
    """One decoded photo.

    Compared by identity: two arrays of twelve million pixels are not compared by accident.
    """

    name: str
    """File name as the user knows it."""
    sha256: str
    """Of the file's bytes, before decoding."""
    rgb: NDArray[np.uint8]
    """Height × width × 3, upright (EXIF orientation applied), contiguous."""
    problems: tuple[Problem, ...] = ()
    focal_35mm: float | None = None
    """EXIF focal length, 35 mm equivalent, where the file states one."""

    @property
    def width_px(self) -> int:
        """Width of the upright photo."""
        return int(self.rgb.shape[1])

    @property
    def height_px(self) -> int:
        """Height of the upright photo."""
        return int(self.rgb.shape[0])

    @cached_property
    def gray(self) -> NDArray[np.uint8]:
        """Luma, height × width (ITU-R BT.601 weights, as OpenCV computes them); made on first use and kept."""
        return np.asarray(cv2.cvtColor(self.rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def open_photo(path: Path) -> Photo:
    """Read and decode one file.

    Parameters
    ----------
    path
        A picture file.

    Raises
    ------
    InputUnreadable
        Missing, a folder, empty, too large, not a picture, cut short, too many pixels; ``code`` tells which.
    """
    try:
        if path.is_dir():
            raise _unreadable(path.name, "is_folder", "This is a folder, not a photo.", "Name the photos inside it.")
        if not path.is_file():
            raise _unreadable(path.name, "missing", "There is no such file.", "Check the name.")
        if path.stat().st_size > MAX_FILE_BYTES:
            raise _too_large(path.name)
        data = path.read_bytes()
    except OSError as fault:
        reason = fault.strerror or "the system refused"
        raise _unreadable(
            path.name, "no_access", f"The file could not be read ({reason}).", "Check its permissions and the disk."
        ) from fault
    return open_photo_bytes(path.name, data)


def open_photo_bytes(name: str, data: bytes) -> Photo:
    """Decode one photo from memory.

    Parameters
    ----------
    name
        How the user calls it; used in messages.
    data
        The whole file.

    Raises
    ------
    InputUnreadable
        As for `open_photo`.
    """
    if not data:
        raise _unreadable(name, "empty_file", "The file is empty.", "Copy or take the photo again.")
    if len(data) > MAX_FILE_BYTES:
        raise _too_large(name)
    # Pillow warns from 89 MP on; our own lower limit speaks instead.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        image = _open_header(name, data)
        with image:
            _refuse_odd_sizes(name, image.width, image.height)
            problems = _frame_problems(image)
            focal = _focal_35mm(image)
            rgb = _decode(name, image)
    return Photo(name, hashlib.sha256(data).hexdigest(), rgb, problems, focal)


def _open_header(name: str, data: bytes) -> Image.Image:
    """Read the header only; no pixel is decoded yet."""
    Image.init()
    formats = [f for f in FORMATS if f in Image.OPEN]
    if _is_heic(data):
        _enable_heic(name)
        formats = ["HEIF"]
    try:
        return Image.open(io.BytesIO(data), formats=formats)
    except Image.DecompressionBombError as fault:
        raise _too_many_pixels(name) from fault
    except Exception as fault:
        # Pillow's plugins raise whatever their parsing meets (OSError, SyntaxError, struct.error, KeyError, ...).
        raise _not_an_image(name, data) from fault


def _is_heic(data: bytes) -> bool:
    return data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS


def _enable_heic(name: str) -> None:
    """Register the HEIC decoder, or say which extra holds it."""
    try:
        from pi_heif import register_heif_opener
    except ImportError as fault:
        raise _unreadable(
            name,
            "heic_not_installed",
            "This is a HEIC photo and the HEIC reader is not installed.",
            "Install it with: pip install 'screener[heic]', or set the phone to save JPEG (Most Compatible).",
        ) from fault
    register_heif_opener()


def _refuse_odd_sizes(name: str, width: int, height: int) -> None:
    if width * height > MAX_PIXELS or max(width, height) > MAX_SIDE_PX:
        raise _too_many_pixels(name, width, height)
    if min(width, height) < MIN_SIDE_PX:
        raise _unreadable(
            name,
            "too_small",
            f"The picture has only {width} × {height} pixels.",
            "Use the original photo, not a preview.",
        )


def _frame_problems(image: Image.Image) -> tuple[Problem, ...]:
    """Say when a file holds more pages than the one that is read. Phones' MPO files hold a preview: that is no page."""
    pages = int(getattr(image, "n_frames", 1)) if image.format in {"TIFF", "GIF"} else 1
    if pages == 1:
        return ()
    return (Problem("first_page_only", f"The file holds {pages} pictures; only the first was looked at."),)


def _focal_35mm(image: Image.Image) -> float | None:
    """35 mm equivalent focal length from EXIF; None when absent, zero or damaged."""
    try:
        value = image.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.FocalLengthIn35mmFilm)
        focal = float(value) if value else 0.0
    except Exception:  # noqa: BLE001 damaged EXIF raises almost anything; a photo is not lost for that
        return None
    return focal if 5.0 <= focal <= 2000.0 else None


def _decode(name: str, image: Image.Image) -> NDArray[np.uint8]:
    """Decode all pixels, turn them upright, bring them to 8-bit RGB."""
    try:
        image.load()
        return _to_rgb8(_upright(image))
    except MemoryError as fault:
        raise _too_many_pixels(name, image.width, image.height) from fault
    except Exception as fault:
        raise _damaged(name, fault) from fault


def _upright(image: Image.Image) -> Image.Image:
    """Apply the EXIF orientation. Damaged EXIF leaves the picture as it is stored."""
    with contextlib.suppress(Exception):
        ImageOps.exif_transpose(image, in_place=True)
    return image


def _to_rgb8(image: Image.Image) -> NDArray[np.uint8]:
    """Any Pillow mode to height × width × 3 uint8. Transparent parts become white, as on paper."""
    if image.mode.startswith("I") or image.mode == "F":
        return np.repeat(_gray8_from_deep(np.asarray(image))[:, :, None], 3, axis=2)
    if image.has_transparency_data:
        layered = image.convert("RGBA")
        paper = Image.new("RGBA", layered.size, "white")
        image = Image.alpha_composite(paper, layered)
    # A photo that is RGB already is not copied once more: twelve million pixels are 48 MB inside Pillow.
    return np.array(image if image.mode == "RGB" else image.convert("RGB"), dtype=np.uint8)


def _gray8_from_deep(deep: NDArray[np.generic]) -> NDArray[np.uint8]:
    """16-bit, 32-bit or float gray to 8 bits: the high byte of 16-bit data, else the range that is used."""
    values = np.nan_to_num(deep.astype(np.float32))
    top = float(values.max())
    if 255.0 < top <= 65535.0 and np.issubdtype(deep.dtype, np.integer):
        values = values / 257.0
    elif top > 255.0 or top <= 1.0:
        values = values * (255.0 / top) if top > 0 else values
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def _unreadable(name: str, code: str, says: str, next_step: str) -> InputUnreadable:
    return InputUnreadable(says, where=name, next_step=next_step, code=code)


def _too_large(name: str) -> InputUnreadable:
    limit = MAX_FILE_BYTES // 1_000_000
    return _unreadable(name, "too_large", f"The file is larger than {limit} MB.", "Save the photo as JPEG.")


def _too_many_pixels(name: str, width: int = 0, height: int = 0) -> InputUnreadable:
    size = f" ({width} × {height})" if width else ""
    says = f"The picture has too many pixels to open safely{size}; the limit is {MAX_PIXELS // 1_000_000} megapixels."
    return _unreadable(name, "too_many_pixels", says, "Take the photo with 12 megapixels, or make it smaller.")


def _damaged(name: str, fault: Exception) -> InputUnreadable:
    """Half a photo is refused, not read in part: what is missing could be what matters."""
    if "truncated" in str(fault).lower() or "premature" in str(fault).lower():
        return _unreadable(
            name,
            "truncated",
            "The photo's file is cut short; part of the picture is missing.",
            "Copy it again from the phone or camera.",
        )
    return _unreadable(name, "damaged", "The photo's file is damaged.", "Copy it again, or take a new photo.")


def _not_an_image(name: str, data: bytes) -> InputUnreadable:
    next_step = "Give a JPEG, PNG, WebP, TIFF or HEIC photo."
    if _looks_like_picture(data):
        return _unreadable(name, "damaged", "The photo's file is damaged; its header cannot be read.", next_step)
    what = "text" if _looks_like_text(data) else "something else"
    return _unreadable(name, "not_an_image", f"This is not a picture: the file holds {what}.", next_step)


def _looks_like_picture(data: bytes) -> bool:
    starts = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*", b"GIF8")
    return data.startswith(starts) or data[8:12] == b"WEBP" or data[4:12] == b"ftypavif" or _is_heic(data)


def _looks_like_text(data: bytes) -> bool:
    head = data[:2048]
    return b"\x00" not in head and all(byte >= 32 or byte in b"\t\r\n\f\x1b" for byte in head)
