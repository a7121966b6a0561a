"""Everything read from one photo, and its JSON form (the contract ``screener.look/1``)."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter

from screener.codes.model import CodeRead
from screener.vision.model import LabelSeen, PartSeen, Problem, Scale

SCHEMA = "screener.look/1"


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """What one photo gave. Empty lists mean: looked, and found nothing."""

    photo: str
    sha256: str = ""
    width_px: int = 0
    height_px: int = 0
    problems: tuple[Problem, ...] = ()
    scale: Scale | None = None
    codes: tuple[CodeRead, ...] = ()
    parts: tuple[PartSeen, ...] = ()
    label: LabelSeen | None = None
    readable: bool = True
    """False when the file could not be opened as a photo; `problems` then says why."""
    fingerprint: str = ""
    """What the picture is known again by when it was made smaller or saved again; see `screener.vision.fingerprint`."""

    def named(self, photo: str) -> PhotoReading:
        """The same reading under another file name (the cache is by content, not by name)."""
        return replace(self, photo=photo)


def as_json(reading: PhotoReading) -> dict[str, Any]:
    """The reading as the contract prints it."""
    return {"schema": SCHEMA, **asdict(reading)}


def from_json(document: dict[str, Any]) -> PhotoReading:
    """The inverse of `as_json`.

    Raises
    ------
    pydantic.ValidationError
        The document is not a reading of this schema.
    """
    fields = {key: value for key, value in document.items() if key != "schema"}
    return _adapter().validate_python(fields)


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[PhotoReading]:
    return TypeAdapter(PhotoReading)
