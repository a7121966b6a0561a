"""Photos of an item whose picture came with an earlier delivery, as observations in both photos."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.receiving.observe import Notebook
from screener.screening.model import EARLIER, Source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.looking.reading import PhotoReading
    from screener.receiving.photos_before import PhotosBefore, SeenBefore
    from screener.records.model import Run
    from screener.screening.model import Item, Point
    from screener.vision.fingerprint import Outline

SAME_FILE = "the same file"
SAME_PICTURE = "the same picture, saved again, cut or turned"
"""`Source.reader` of the observation in the item's own photo; its `Source.also` names the earlier one."""


def with_seen_before(item: Item, readings: Mapping[str, PhotoReading], before: PhotosBefore, run: Run) -> Item:
    """Return the item with what is known of its photos from earlier deliveries.

    Parameters
    ----------
    item
        Its photos were asked about in ``before.pictures``.
    readings
        By photo name.
    before
        The photos of the record.
    run
        The delivery at work; of a part that is verified nothing is asked, for it was received before.
    """
    if run.kind != "receive":
        return item
    mine = {reading.sha256: reading for name in item.photos if (reading := readings[name]).readable}
    notebook = Notebook(list(item.observations))
    for seen in before.seen(item, tuple(mine), run):
        _note(seen, mine[seen.photo_sha256], before, notebook)
    return replace(item, observations=tuple(notebook.observations))


def _note(seen: SeenBefore, reading: PhotoReading, before: PhotosBefore, notebook: Notebook) -> None:
    more = f", and with {seen.further} other item{'s' * (seen.further > 1)}" if seen.further else ""
    says = f"{seen.sighting.says}{more}"
    there = f"{seen.sighting.photo_name} of record {seen.sighting.item_id}"
    size = (reading.width_px, reading.height_px)
    whole: Outline = ((0, 0), (1, 0), (1, 1), (0, 1))
    shared = whole if seen.twin is None else seen.twin.mine
    reader = SAME_FILE if seen.twin is None else SAME_PICTURE
    source = Source("photo", reading.photo, reading.sha256, _in_pixels(shared, size), reader, (there,))
    notebook.note("seen_before", says, source)
    if seen.twin is not None:
        # The same file stands on the page already.
        region = _in_pixels(seen.twin.theirs, before.size_px(seen.twin.sha256))
        notebook.note("seen_before", says, Source("photo", there, seen.twin.sha256, region, EARLIER))


def _in_pixels(shared: Outline, size: tuple[int, int]) -> tuple[Point, ...]:
    return tuple((float(round(x * size[0])), float(round(y * size[1]))) for x, y in shared)
