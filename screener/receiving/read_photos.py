"""Photos to readings, each content read once: what the record remembers is not read again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from screener.looking.look import ALL, READER_VERSION
from screener.looking.many import look_at_all
from screener.looking.reading import as_json, from_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.looking.reading import PhotoReading
    from screener.receiving.photo_files import PhotoFile
    from screener.receiving.progress import Progress
    from screener.records.record import Record


def read_photos(
    photos: Sequence[PhotoFile], record: Record, progress: Progress, *, workers: int | None = None
) -> dict[str, PhotoReading]:
    """Return a reading for each photo, by its name. Each new reading is kept as soon as it is made."""
    readings = {p.name: known for p in photos if (known := _remembered(p, record)) is not None}
    for name in readings:
        progress.photo_read(name, remembered=True)
    fresh = _first_of_each_content([p for p in photos if p.name not in readings])
    for photo, reading in zip(fresh, look_at_all([p.path for p in fresh], ALL, workers=workers), strict=True):
        record.cache_reading(photo.sha256, READER_VERSION, as_json(reading))
        progress.photo_read(photo.name, remembered=False)
        readings |= {p.name: reading.named(p.name) for p in photos if p.sha256 == photo.sha256}
    return readings


def _remembered(photo: PhotoFile, record: Record) -> PhotoReading | None:
    document = record.cached_reading(photo.sha256, READER_VERSION)
    if document is None:
        return None
    try:
        return from_json(document).named(photo.name)
    except ValidationError:
        # Written by a program that changed its reading without a new version: reading again is always right.
        return None


def _first_of_each_content(photos: Sequence[PhotoFile]) -> list[PhotoFile]:
    return list({p.sha256: p for p in reversed(photos)}.values())[::-1]
