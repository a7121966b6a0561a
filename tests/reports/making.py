"""Results to print, made by hand."""

from __future__ import annotations

import io
from dataclasses import replace

from PIL import Image

from screener.parts.model import Explained
from screener.screening.model import (
    Disposition,
    Finding,
    Item,
    NotChecked,
    Observation,
    Requirement,
    ScreenedItem,
    Source,
    Suspicion,
)

REGION = ((10.0, 20.0), (90.0, 20.0), (90.0, 70.0), (10.0, 70.0))


def observation(key: str, value: str | float = "6205-2RS", **more: object) -> Observation:
    source = Source("marking", "a.jpg", "", REGION, "marks 1")
    return replace(Observation(key, "designation", value, source, p=0.9), **more)  # type: ignore[arg-type]


def screened(key: str = "1", need: str = "6205-2RS", **more: object) -> ScreenedItem:
    requirement = Requirement(
        key, need, Explained(need, True, basic="6205"), 4, None, frozenset({"wet"}), "Velmort & Co"
    )
    made = ScreenedItem(
        item=Item(key, requirement, (observation("o1"), observation("o2", "6205-2Z")), ("a.jpg",)),
        disposition=Disposition(
            "hold", "look again", "The ring and the box differ.", "Photograph the other face.", "R5"
        ),
        suspicion=Suspicion("none", 0.0, 0.0, 0.0),
        findings=(Finding("marks_differ", "contradiction", "agreement", "The ring reads 6205-2Z.", "rule 4", ("o2",)),),
        not_checked=(NotChecked("clearance", "Clearance cannot be seen in a photo."),),
        agreed=("The size agrees with the order.",),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def photo(width: int = 100, height: int = 80, *, form: str = "JPEG", mode: str = "RGB", exif_turn: int = 1) -> bytes:
    out = io.BytesIO()
    picture = Image.new(mode, (width, height))
    exif = picture.getexif()
    exif[0x0112] = exif_turn
    picture.save(out, form, exif=exif)
    return out.getvalue()
