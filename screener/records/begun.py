"""Items that were only begun: a code was scanned to find the line, and nothing of the part was seen yet.

Such an item has an answer ("photos are still to be taken"), but nobody has judged anything: it is neither kept back nor
looked at, and nothing it lacks is its supplier's doing. So it counts nowhere until there is a photo, a reading or a
person's decision.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from screener.records.model import StoredItem

CODE = "barcode"


def is_begun(item: StoredItem) -> bool:
    """Return whether nothing but a code is known of an item: it waits for its photos and is not judged."""
    return only_begun(item.disposition, len(item.photos), item.result)


def only_begun(disposition: str, photos: int, result: Mapping[str, Any]) -> bool:
    """Return whether an answer rests on codes alone and only waits for more.

    Parameters
    ----------
    disposition, result
        Of the recorded answer.
    photos
        How many photos it rests on.

    Notes
    -----
    A code that says another part, or that speaks for suspicion, is a finding of its own: those answers count.
    """
    if disposition != "hold" or photos or result.get("exit") != "look again":
        return False
    channels = [each["source"]["channel"] for each in result.get("observations", ())]
    return bool(channels) and all(channel == CODE for channel in channels)
