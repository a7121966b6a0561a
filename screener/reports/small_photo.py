"""Photos made small enough for a page. Decoded by the formats we expect only, with a limit on their size."""

from __future__ import annotations

import base64
import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image

MAX_PIXELS = 120_000_000
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "MPO", "AVIF", "HEIF", "GIF")
_QUALITY = 82


@dataclass(frozen=True, slots=True)
class SmallPhoto:
    """A JPEG as a data URI, with the size of the upright photo it was made from, in pixels."""

    uri: str
    width_px: int
    height_px: int


def small_photo(content: bytes, longest_side_px: int) -> SmallPhoto | None:
    """Return the photo upright and reduced, or None if it cannot be shown.

    Parameters
    ----------
    content
        The bytes of the file as given; nothing about them is trusted.
    longest_side_px
        Of the reduced picture. A smaller photo keeps its size.
    """
    from PIL import Image, UnidentifiedImageError

    _accept_heic()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_known_formats()) as opened:
                return _reduce(opened, longest_side_px)
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return None
    except (OSError, ValueError, SyntaxError, EOFError, KeyError, IndexError, TypeError, MemoryError):
        # What Pillow's decoders raise on damaged files; a report is not stopped by one photo.
        return None


def _accept_heic() -> None:
    try:
        import pi_heif
    except ImportError:
        return
    pi_heif.register_heif_opener()


def _known_formats() -> tuple[str, ...]:
    from PIL import Image

    Image.init()
    return tuple(each for each in FORMATS if each in Image.OPEN)


def _reduce(opened: Image.Image, longest_side_px: int) -> SmallPhoto | None:
    from PIL import ImageOps

    if opened.width * opened.height > MAX_PIXELS:
        return None
    turned = opened.getexif().get(0x0112, 1) in {5, 6, 7, 8}
    width, height = (opened.height, opened.width) if turned else opened.size
    # A JPEG can be decoded at half or a quarter of its size right away.
    opened.draft("RGB", (longest_side_px, longest_side_px))
    upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((longest_side_px, longest_side_px))
    out = io.BytesIO()
    _as_rgb(upright).save(out, "JPEG", quality=_QUALITY, optimize=True)
    return SmallPhoto(f"data:image/jpeg;base64,{base64.b64encode(out.getvalue()).decode()}", width, height)


def _as_rgb(picture: Image.Image) -> Image.Image:
    from PIL import Image

    if picture.mode.startswith("I;16"):
        return picture.point(lambda level: level / 256).convert("L").convert("RGB")
    if "A" in picture.getbands() or "transparency" in picture.info:
        layered = picture.convert("RGBA")
        white = Image.new("RGBA", layered.size, "white")
        return Image.alpha_composite(white, layered).convert("RGB")
    return picture.convert("RGB")
