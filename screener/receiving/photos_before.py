"""The photos of earlier deliveries: an index of them that follows the record, and where one was received before."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.receiving.same_pictures import SamePictures
from screener.screening.observed import own_photos

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from screener.receiving.same_pictures import Twin
    from screener.records.model import Run
    from screener.records.photos_received import PhotoSighting
    from screener.records.record import Record
    from screener.screening.model import Item

MOST_PHOTOS = 100_000
"""Of a larger record the newest photos are known again: 2.2 kB each in the index and 0.3 kB for its name."""
_AT_ONCE = 2000
_ASKED_AGAIN = 200
"""Items asked for once more: a database may show a row with a lower number later than one with a higher."""


@dataclass(frozen=True, slots=True)
class SeenBefore:
    """A photo of an item whose picture was received before."""

    photo_sha256: str
    twin: Twin | None
    """What the pictures share; None where it is the same file."""
    sighting: PhotoSighting
    """Where, the newest one."""
    further: int = 0
    """Other items it was received with."""


class PhotosBefore:
    """The photos of one record's received items. Usable from several threads.

    Reading a large record takes a while (`tests/receiving/measure_photos_before.py`); after that only what was added is
    read.
    """

    def __init__(self, record: Record, most_photos: int = MOST_PHOTOS) -> None:
        self._record = record
        self._most = most_photos
        self._upto = 0
        self._met: set[str] = set()
        self._lock = threading.Lock()
        self.pictures = SamePictures(self._prints_of)

    def _prints_of(self, photos: Collection[str]) -> Mapping[str, str]:
        return {sha: known.fingerprint for sha, known in self._record.prints(photos).items()}

    def catch_up(self) -> None:
        """Take in the photos of all items that were recorded since."""
        with self._lock:
            last, photos = self._record.photos_received(max(0, self._upto - _ASKED_AGAIN), at_most=self._most)
            fresh = [sha for sha in photos if sha not in self._met]
            for start in range(0, len(fresh), _AT_ONCE):
                some = fresh[start : start + _AT_ONCE]
                self.pictures.know(self._prints_of(some).items())
                self._met.update(some)
            self._upto = last

    def ask(self, prints: Mapping[str, str], others: Iterable[Item] = ()) -> None:
        """Compare photos (fingerprints by hash) with each other, a delivery's other items and all the record."""
        self.catch_up()
        self.pictures.ask(prints, {sha for other in others for sha in own_photos(other.observations)})

    def seen(self, item: Item, photos: Collection[str], run: Run) -> list[SeenBefore]:
        """Return which of an item's photos, asked about in `pictures`, were received before in another delivery."""
        twins = {sha: self.pictures.twins(sha) for sha in photos}
        wanted = {*photos, *(twin.sha256 for mine in twins.values() for twin in mine)}
        kept = self._record.references_among(photos)
        sightings: dict[str, list[PhotoSighting]] = {}
        for each in self._record.photos_seen(wanted, except_run=run.id):
            sightings.setdefault(each.photo_sha256, []).append(each)
        again = _read_again(item, photos, (each for some in sightings.values() for each in some), run)
        found = []
        for sha in photos:
            pairs: list[tuple[PhotoSighting, Twin | None]] = [(each, None) for each in sightings.get(sha, ())]
            pairs += [(each, twin) for twin in twins[sha] for each in sightings.get(twin.sha256, ())]
            others = [pair for pair in pairs if pair[0].item_id not in again]
            if others and sha not in kept:
                sighting, twin = max(others, key=lambda pair: (pair[0].item_id, pair[1] is None))
                # A delivery that was read twice is in the record twice.
                items = {(each.order_sha256, each.order_name, each.line, each.item) for each, _ in others}
                found.append(SeenBefore(sha, twin, sighting, len(items) - 1))
        return found

    def size_px(self, sha256: str) -> tuple[int, int]:
        """Width and height of a photo that was read."""
        known = self._record.prints([sha256])[sha256]
        return known.width_px, known.height_px


def _read_again(item: Item, photos: Collection[str], sightings: Iterable[PhotoSighting], run: Run) -> set[int]:
    """Items that are this item itself: its order and line read again, also from an order file that was saved anew."""
    need = item.requirement
    mine = [each for each in sightings if each.line == need.line]
    again = {each.item_id for each in mine if each.order_sha256 == run.order_sha256 != ""}
    files: dict[int, set[str]] = {}
    for each in mine:
        if (each.order_name, each.requirement) == (run.order_name, need.need):
            files.setdefault(each.item_id, set()).add(each.photo_sha256)
    return again | {item_id for item_id, there in files.items() if there >= set(photos)}
