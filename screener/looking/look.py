"""One photo read whole. A bad file gives a reading that says why, never an exception."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import cv2

from screener import __version__
from screener.errors import InputUnreadable
from screener.looking.reading import PhotoReading
from screener.vision.model import Problem, Scale
from screener.vision.photo import open_photo

if TYPE_CHECKING:
    from pathlib import Path

    from screener.codes.model import CodeRead
    from screener.vision.model import LabelSeen
    from screener.vision.photo import Photo
    from screener.vision.see import PartsSeen

Want = Literal["codes", "parts", "label"]
ALL: frozenset[Want] = frozenset({"codes", "parts", "label"})
READER_VERSION = f"{__version__}/1"
"""Part of the cache's key: raise the last number with every change that can read a photo differently."""
CLEAR_PART_P = 0.8
"""A part whose kind is this sure fills the photo's purpose: it is not searched for a label as well."""


def use_one_thread() -> None:
    """Keep the libraries of this process to one thread: the cores are shared between processes, one photo each."""
    cv2.setNumThreads(1)
    from screener.vision.text_engine import text_engine

    text_engine(threads=1)


def look(path: Path, want: frozenset[Want] = ALL) -> PhotoReading:
    """Read one photo.

    Parameters
    ----------
    path
        The photo's file.
    want
        Which readers to run. With ``codes`` alone no text engine is loaded.
    """
    try:
        photo = open_photo(path)
    except InputUnreadable as fault:
        says = f"{fault.says} {fault.next_step}".strip()
        return PhotoReading(str(path), problems=(Problem(fault.code, says),), readable=False)
    scale, seen = _parts(photo) if "parts" in want else (None, None)
    part_is_clear = seen is not None and any((p.kind_p or 0) >= CLEAR_PART_P for p in seen.parts)
    codes = _codes(photo, thorough=not part_is_clear) if "codes" in want else ()
    label = _label(photo) if "label" in want and (codes or not part_is_clear) else None
    return PhotoReading(
        photo=str(path),
        sha256=photo.sha256,
        width_px=photo.width_px,
        height_px=photo.height_px,
        problems=(*photo.problems, *(_quality(photo, seen) if seen is not None else ())),
        scale=scale,
        codes=codes,
        parts=seen.parts if seen is not None and not _only_a_box(seen, label, codes) else (),
        label=label,
    )


def _codes(photo: Photo, *, thorough: bool) -> tuple[CodeRead, ...]:
    from screener.codes.decode import read_codes

    return read_codes(photo.gray, thorough=thorough)


def _parts(photo: Photo) -> tuple[Scale | None, PartsSeen]:
    from screener.vision.card import find_card
    from screener.vision.see import see_parts
    from screener.vision.text_engine import text_engine

    card = find_card(photo)
    return (card.scale if card else None), see_parts(photo, card, text_engine())


def _label(photo: Photo) -> LabelSeen | None:
    from screener.vision.label import read_label
    from screener.vision.text_engine import text_engine

    return read_label(photo.rgb, text_engine())


def _quality(photo: Photo, seen: PartsSeen) -> tuple[Problem, ...]:
    from screener.vision.quality import photo_problems

    outer = seen.parts[0].outer_ellipse_px if seen.parts else None
    return photo_problems(photo, outer)


def _only_a_box(seen: PartsSeen, label: LabelSeen | None, codes: tuple[CodeRead, ...]) -> bool:
    """Round print on a box is no part: beside a label or code, only a part seen without doubt counts."""
    return bool(label or codes) and not any((p.kind_p or 0) >= CLEAR_PART_P for p in seen.parts)
