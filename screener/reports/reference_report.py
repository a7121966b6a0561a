"""The side-by-side picture of a comparison with a reference: numbered outlines and the sentences that go with them."""

from __future__ import annotations

import base64
import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from screener.errors import ScreenerError
from screener.receiving.compare_references import photo_laid, straight_picture
from screener.reports.pages import page_templates
from screener.reports.whole_file import write_whole
from screener.vision.photo import open_photo

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.receiving.compare_references import ReferenceComparison
    from screener.records.archive import Archive
    from screener.vision.model import Point

_SIDE_PX = 900
_GAP_PX = 24
_HEAD_PX = 40


def write_side_by_side(comparison: ReferenceComparison, photo: Path, archive: Archive, target: Path) -> Path:
    """Write the picture, as HTML with the sentences or as PNG, by the ending of ``target``.

    Raises
    ------
    ScreenerError
        The ending is neither, or the file cannot be written there.
    """
    if target.suffix.lower() not in {".html", ".htm", ".png"}:
        raise ScreenerError("the side-by-side picture is .html or .png.", where=str(target), code="report_not_written")
    picture = side_by_side(comparison, photo, archive) or _alone(photo)
    if target.suffix.lower() == ".png":
        content = io.BytesIO()
        picture.save(content, "PNG")
        return write_whole(target, content.getvalue())
    return write_whole(target, [reference_page(comparison, picture)])


def _alone(photo: Path) -> Image.Image:
    """The photo itself, where it could be laid on no reference."""
    picture = Image.fromarray(open_photo(photo).rgb)
    picture.thumbnail((_SIDE_PX, _SIDE_PX))
    return picture


def side_by_side(comparison: ReferenceComparison, photo: Path, archive: Archive) -> Image.Image | None:
    """Reference left, photo laid over it right; a difference has one number on both. None if nothing was laid."""
    best = comparison.best
    if best is None or best.compared.laid is None:
        return None
    compared = best.compared
    left = Image.fromarray(straight_picture(best.reference, archive)).resize(compared.frame_px)
    right = Image.fromarray(photo_laid(photo, compared))
    factor = min(1.0, _SIDE_PX / max(compared.frame_px))
    size = (round(left.width * factor), round(left.height * factor))
    sheet = Image.new("RGB", (2 * size[0] + 3 * _GAP_PX, size[1] + _HEAD_PX + _GAP_PX), "white")
    pen = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(20)
    for column, (picture, title) in enumerate(
        ((left, f"Reference {best.reference.id}, {best.reference.dated}"), (right, "This photo, laid over it"))
    ):
        x = _GAP_PX + column * (size[0] + _GAP_PX)
        sheet.paste(picture.resize(size, Image.Resampling.LANCZOS), (x, _HEAD_PX))
        pen.text((x, 10), title, fill="black", font=font)
        outlines = [d.outline_frame_px if column else d.home_frame_px for d in compared.differences]
        _outlines(pen, outlines, factor, (x, _HEAD_PX))
    return sheet


def _outlines(
    pen: ImageDraw.ImageDraw, outlines: Sequence[Sequence[Point]], factor: float, origin: tuple[int, int]
) -> None:
    """Dark line on a white one, to be seen on any ground, and a number in a box."""
    font = ImageFont.load_default(18)
    for number, points in enumerate(outlines, 1):
        outline = _scaled(points, factor, origin)
        closed = [*outline, outline[0]]
        pen.line(closed, fill="white", width=6)
        pen.line(closed, fill="black", width=2)
        x, y = min(p[0] for p in outline), max(2.0, min(p[1] for p in outline) - 23)
        box = pen.textbbox((x + 4, y + 1), str(number), font=font)
        pen.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3), fill="white", outline="black")
        pen.text((x + 4, y + 1), str(number), fill="black", font=font)


def _scaled(points: Sequence[Point], factor: float, origin: tuple[int, int]) -> list[tuple[float, float]]:
    return [(origin[0] + x * factor, origin[1] + y * factor) for x, y in points]


def reference_page(comparison: ReferenceComparison, picture: Image.Image) -> str:
    """The HTML page: one file, no network, no script."""
    out = io.BytesIO()
    Image.fromarray(np.asarray(picture)).save(out, "JPEG", quality=88)
    uri = f"data:image/jpeg;base64,{base64.b64encode(out.getvalue()).decode()}"
    return page_templates().get_template("reference.html.j2").render(comparison=comparison, picture=uri)
