"""Readings of the drawn photos, kept between runs where ``SCREENER_KEPT_READINGS`` names a folder.

Who works on a page runs its tests many times; reading the same photos takes most of that. Without the folder, as in
every ordinary run, each photo is read.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from pathlib import Path

from pydantic import ValidationError

from screener.looking.look import READER_VERSION, look
from screener.looking.reading import PhotoReading, as_json, from_json


def look_or_remember(path: Path) -> PhotoReading:
    folder = os.environ.get("SCREENER_KEPT_READINGS")
    if not folder:
        return look(path)
    kept = Path(folder) / f"{READER_VERSION}-{hashlib.sha256(path.read_bytes()).hexdigest()}.json"
    if kept.exists():
        # The reader may have changed its form since.
        with contextlib.suppress(ValidationError):
            return from_json(json.loads(kept.read_text(encoding="utf-8")))
    reading = look(path)
    kept.parent.mkdir(parents=True, exist_ok=True)
    kept.write_text(json.dumps(as_json(reading)), encoding="utf-8")
    return reading
