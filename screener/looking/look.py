"""One photo read whole. A bad file gives a reading that says why, never an exception."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import cv2

from screener import __version__
from screener.errors import InputUnreadable
from screener.looking.printed import not_printed
from screener.looking.reading import PhotoReading
from screener.looking.witnesses import with_printed_digits
from screener.vision.fingerprint import fingerprint
from screener.vision.model import Problem
from screener.vision.networks import limit_threads
from screener.vision.photo import open_photo

if TYPE_CHECKING:
    from pathlib import Path

    from screener.codes.model import CodeRead
    from screener.vision.card import Card
    from screener.vision.model import LabelSeen, PartSeen
    from screener.vision.photo import Photo

Want = Literal["codes", "parts", "label"]
ALL: frozenset[Want] = frozenset({"codes", "parts", "label"})
READER_VERSION = f"{__version__}/14"
"""Part of the cache's key: raise the last number with every change that can read a photo differently."""
CLEAR_PART_P = 0.8
CLEAR_PART_SHARE = 0.1
"""A part whose kind is this sure, and that is this large a share of the photo, is what the photo was taken for: it is
not searched for a label as well, unless there is a code."""


def use_one_thread() -> None:
    """Load the text reader and keep all libraries of this process to one thread: processes share the cores."""
    cv2.setNumThreads(1)
    limit_threads(1)
    from screener.vision.text_engine import text_engine

    text_engine()


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
    card = _card(photo) if "parts" in want else None
    parts = _parts(photo, card) if "parts" in want else ()
    part_is_clear = any(_is_clear(p, photo) for p in parts)
    codes = _codes(photo, thorough=not part_is_clear) if "codes" in want else ()
    label = _label(photo, card) if "label" in want and (codes or not part_is_clear) else None
    codes, parts = with_printed_digits(codes, label), not_printed(parts, codes, label)
    return PhotoReading(
        photo=str(path),
        sha256=photo.sha256,
        width_px=photo.width_px,
        height_px=photo.height_px,
        problems=(*photo.problems, *(_quality(photo, parts) if "parts" in want else ())),
        scale=card.scale if card else None,
        codes=codes,
        parts=parts,
        label=label,
        fingerprint=fingerprint(photo.gray, parts[0].outer_ellipse_px if parts else None),
    )


def _codes(photo: Photo, *, thorough: bool) -> tuple[CodeRead, ...]:
    from screener.codes.decode import read_codes

    return read_codes(photo.gray, thorough=thorough)


def _is_clear(part: PartSeen, photo: Photo) -> bool:
    large = 2 * part.outer_ellipse_px.a >= CLEAR_PART_SHARE * max(photo.width_px, photo.height_px)
    return large and (part.kind_p or 0) >= CLEAR_PART_P


def _card(photo: Photo) -> Card | None:
    from screener.vision.card import find_card

    return find_card(photo)


def _parts(photo: Photo, card: Card | None) -> tuple[PartSeen, ...]:
    from screener.vision.see import see_parts
    from screener.vision.text_engine import text_engine

    return see_parts(photo, card, text_engine())


def _label(photo: Photo, card: Card | None) -> LabelSeen | None:
    from screener.vision.label import read_label
    from screener.vision.label_colour import white_of_card
    from screener.vision.text_engine import text_engine

    return read_label(photo.rgb, text_engine(), white_of_card(photo.rgb, card) if card else None)


def _quality(photo: Photo, parts: tuple[PartSeen, ...]) -> tuple[Problem, ...]:
    from screener.vision.quality import part_problems, photo_problems

    return part_problems(photo, parts[0]) if parts else photo_problems(photo, None)
