"""The mechanic's job: one part, the need, photos and readings, one answer."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from screener.codes.scan import interpret_scan
from screener.looking.look import READER_VERSION
from screener.parts import explain
from screener.receiving.delivery import keep_item, unreadable_of
from screener.receiving.observe import Notebook, observe_photos, observe_scan
from screener.receiving.observe_readings import HandReadings, observe_readings
from screener.receiving.observe_references import with_references
from screener.receiving.observe_signs import PersonSigns, observe_signs
from screener.receiving.photo_files import PhotoFile, fingerprint, single_photos
from screener.receiving.progress import Progress, Silent
from screener.receiving.read_photos import read_photos
from screener.receiving.reading_slips import refuse_slips_beside
from screener.receiving.surroundings import surroundings_of
from screener.screening.model import Item, Requirement, ScreenedItem
from screener.screening.screen import screen

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from screener.looking.reading import PhotoReading
    from screener.receiving.assign import Unassigned
    from screener.receiving.observe import Face
    from screener.records.record import Record


@dataclass(frozen=True, slots=True)
class PartInHand:
    """What the mechanic gives: the need, and everything known about the part."""

    need: str
    photos: tuple[Path, ...] = ()
    duty: frozenset[str] = frozenset()
    maker: str | None = None
    readings: HandReadings = field(default_factory=HandReadings)
    scans: tuple[str, ...] = ()
    """Lines from a handheld scanner."""
    signs: PersonSigns = field(default_factory=PersonSigns)
    both_faces: bool = False
    """The photographer says that the first two photos of the part show its two faces."""


@dataclass(frozen=True, slots=True)
class Verified:
    """The answer, and where it is kept."""

    item: ScreenedItem
    run_id: int
    record_id: int
    unreadable: tuple[Unassigned, ...]
    photos: Mapping[str, PhotoFile]


def verify(
    part: PartInHand, record: Record, *, progress: Progress | None = None, today: dt.date | None = None
) -> Verified:
    """Judge one part and record the answer.

    Raises
    ------
    InputUnreadable
        A photo does not exist.
    WrongUsage
        A reading is none, or plainly one in another unit.
    """
    _refuse_slips(part)
    progress, today = progress or Silent(), today or dt.datetime.now(dt.UTC).astimezone().date()
    photos = single_photos(list(part.photos))
    run = record.start_run(
        "verify",
        order_name=part.need,
        photos_fingerprint=fingerprint(photos),
        settings={"reader": READER_VERSION, "today": today.isoformat()},
    )
    progress.begin(len(photos), 1)
    readings = read_photos(photos, record, progress)
    item = _item(part, [readings[p.name] for p in photos], today)
    (item,) = with_references([item], readings, {p.name: p for p in photos}, record)
    done = screen(item, surroundings_of(item, [item], record, run, today))
    by_name = {p.name: p for p in photos}
    record_id = keep_item(done, run.id, record, by_name)
    record.finish(run.id)
    progress.item_done(item.key, done.disposition.word)
    return Verified(done, run.id, record_id, unreadable_of(readings), by_name)


def _refuse_slips(part: PartInHand) -> None:
    read = part.readings
    readings = {"bore_mm": read.bore_mm, "od_mm": read.od_mm, "width_mm": read.width_mm}
    masses_g = () if read.mass_g is None else (read.mass_g,)
    refuse_slips_beside(explain(part.need), {**readings, "mass_g": masses_g})


def _item(part: PartInHand, readings: list[PhotoReading], today: dt.date) -> Item:
    notebook = Notebook()
    observe_photos(readings, notebook, _faces(part, readings))
    for line in part.scans:
        observe_scan(interpret_scan(line, today=today), notebook)
    observe_readings(part.readings, notebook)
    observe_signs(part.signs, notebook)
    requirement = Requirement(line="1", need=part.need, explained=explain(part.need), maker=part.maker, duty=part.duty)
    return Item("1", requirement, tuple(notebook.observations), tuple(r.photo for r in readings))


def _faces(part: PartInHand, readings: list[PhotoReading]) -> dict[str, Face]:
    """The two faces, when the photographer says that the photos show both."""
    if not part.both_faces:
        return {}
    with_part = [r.photo for r in readings if r.parts]
    return dict(zip(with_part, ("first", "second"), strict=False))
