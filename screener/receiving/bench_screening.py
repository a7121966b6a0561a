"""What was given for one line on the bench, to an item, to a recorded answer."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from screener.codes.scan import interpret_scan
from screener.errors import WrongUsage
from screener.receiving.bench_model import Answer, Observed
from screener.receiving.delivery import item_record
from screener.receiving.observe import Notebook, observe_photos, observe_scan
from screener.receiving.observe_readings import HandReadings, observe_readings
from screener.receiving.observe_signs import PersonSigns, known_signs, observe_signs
from screener.screening.model import Item, Source
from screener.screening.observed import own_photos

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from screener.looking.reading import PhotoReading
    from screener.receiving.bench_log import LineLog
    from screener.receiving.bench_model import Correction, HandReading, Shows
    from screener.receiving.observe import Face
    from screener.receiving.photo_files import PhotoFile
    from screener.records.model import ItemRecord, StoredItem
    from screener.records.standing import Standing
    from screener.screening.model import Observation, Requirement, ScreenedItem, Surroundings

EYE = "eye"
ORDER_LIST = "whoever wrote the order list"
LENGTHS = ("bore_mm", "od_mm", "width_mm")
CLASSES: Mapping[str, frozenset[str]] = {
    "closure": frozenset({"open", "shield", "rubber_seal", "not_seen"}),
    "lip_face": frozenset({"spring_side", "back", "not_seen"}),
    "kind": frozenset({"bearing", "shaft_seal"}),
}
TEXTS = frozenset({"designation", "maker", "batch", "serial", "date", "country", "gtin", "text"})
NUMBERS = frozenset({"bore_to_od", *LENGTHS, "mass_g", "quantity"})
LONGEST_VALUE = 200
_FACES: Mapping[Shows, Face] = {"face1": "first", "face2": "second"}


def item_of(
    key: str, requirement: Requirement, log: LineLog, readings: Mapping[str, PhotoReading], today: dt.date
) -> Item:
    """Gather everything given for a line into one item; ``readings`` by photo hash."""
    notebook = Notebook()
    photos = log.photos
    faces = {photo.name: _FACES[photo.shows] for photo in photos if photo.shows in _FACES}
    observe_photos((readings[photo.sha256].named(photo.name) for photo in photos), notebook, faces)
    observe_signs(PersonSigns(requirement.signs, who=ORDER_LIST), notebook)
    for text in log.scans:
        observe_scan(interpret_scan(text, today=today), notebook)
    for reading in log.readings:
        _observe_reading(reading, notebook)
    for correction in log.corrections:
        _correct(correction, notebook)
    return Item(key, requirement, tuple(notebook.observations), tuple(photo.name for photo in photos))


def checked_readings(readings: Sequence[HandReading]) -> list[HandReading]:
    """Return readings with their values as they are kept.

    Raises
    ------
    WrongUsage
        An instrument is not known, or a number or word makes no sense.
    """
    for reading in readings:
        _observe_reading(reading, Notebook())
    return [replace(each, value=checked_value(each.what, each.value)) for each in readings]


def lengths_and_masses(readings: Iterable[HandReading]) -> dict[str, list[float]]:
    """Return what was read off instruments, by attribute."""
    values: dict[str, list[float]] = {}
    for each in readings:
        if each.instrument != EYE:
            values.setdefault(each.what, []).append(float(each.value))
    return values


def checked_value(attribute: str, value: str | float) -> str | float:
    """Return a value that an observation of this attribute can have.

    Raises
    ------
    WrongUsage
        There is no such attribute, or it cannot have this value.
    """
    if attribute in CLASSES:
        if value not in CLASSES[attribute]:
            known = ", ".join(sorted(CLASSES[attribute]))
            raise WrongUsage(f"“{value}” is not known here.", where=attribute, next_step=f"Use {known}.")
        return value
    if attribute in NUMBERS:
        return _number(attribute, value)
    if attribute == "sign":
        return known_signs((str(value),))[0]
    if attribute == "looked":
        observe_signs(PersonSigns(looked=(str(value),)), Notebook())
        return value
    if attribute in TEXTS:
        text = str(value).strip()
        if not 0 < len(text) <= LONGEST_VALUE:
            raise WrongUsage(f"give 1 to {LONGEST_VALUE} characters.", where=attribute)
        return text
    raise WrongUsage("this cannot be given by hand.", where=attribute, code="no_such_attribute")


def versioned_record(done: ScreenedItem, photos: Sequence[PhotoFile], surroundings: Surroundings) -> ItemRecord:
    """The answer as the record keeps it; its fingerprint also stands for what was known around the line."""
    plain = item_record(done, photos)
    known = [surroundings.serials_elsewhere, surroundings.serials_before, surroundings.photos_elsewhere]
    inputs = [plain.fingerprint, known, [asdict(each) for each in done.item.observations]]
    digest = hashlib.sha256(json.dumps(inputs, sort_keys=True, default=str).encode()).hexdigest()
    return replace(plain, fingerprint=digest)


def answer_of(stored: StoredItem, version: int, standing: Standing | None) -> Answer:
    """A recorded answer as the bench shows it."""
    result = stored.result
    return Answer(
        item_id=stored.id,
        version=version,
        recorded_at=stored.recorded_at,
        word=stored.disposition,
        exit=result.get("exit", ""),
        reason=result.get("reason", ""),
        next_step=result.get("next_step", ""),
        suspicion=stored.suspicion,
        findings=tuple(each["says"] for each in result.get("findings", ())),
        agreed=tuple(result.get("agreed", ())),
        not_checked=tuple(result.get("not_checked", ())),
        observed=tuple(_observed(each) for each in result.get("observations", ())),
        standing=standing,
        result=result,
    )


def _number(attribute: str, value: str | float) -> float:
    try:
        number = float(str(value).replace(",", "."))
    except ValueError as error:
        raise WrongUsage(f"“{value}” is no number.", where=attribute) from error
    if not 0 < number < 1e6:
        raise WrongUsage(f"{number:g} cannot be a reading.", where=attribute)
    return number


def _observe_reading(reading: HandReading, notebook: Notebook) -> None:
    """Note what was read off an instrument, or seen by eye."""
    value = checked_value(reading.what, reading.value)
    if reading.instrument == EYE:
        notebook.note(_attribute(reading.what), value, Source("person", reading.who or "by eye"), face=reading.face)
        return
    number = float(_number(reading.what, value))
    if reading.what == "mass_g":
        observe_readings(HandReadings(mass_g=number, scale=reading.instrument), notebook)
        return
    if reading.what not in LENGTHS:
        raise WrongUsage("no instrument reads this.", where=reading.what, next_step="Give it as seen by eye.")
    lengths = {reading.what: (number,)}
    observe_readings(
        HandReadings(**lengths, instrument=reading.instrument, temperature_c=reading.temperature_c),  # type: ignore[arg-type]
        notebook,
    )


def _correct(correction: Correction, notebook: Notebook) -> None:
    """Let a person's word stand for what a reader saw at the same place.

    The source stays: what the label says is still what the label says, only read by a person. So a corrected label is
    never taken for a look at the part.
    """
    kept = []
    for each in notebook.observations:
        if not _is_meant(each, correction):
            kept.append(each)
        elif correction.value is not None:
            kept.append(replace(each, value=correction.value, p=None, alternatives=(), confirmed=True))
    notebook.observations[:] = kept


def _is_meant(observation: Observation, correction: Correction) -> bool:
    return (
        observation.attribute == correction.attribute
        and observation.value == correction.was
        and observation.source.channel == correction.channel
        and observation.source.photo_sha256 == correction.photo_sha256
    )


def _attribute(name: str) -> Any:
    return name


def _observed(document: Mapping[str, Any]) -> Observed:
    source = document["source"]
    return Observed(
        key=document["key"],
        attribute=document["attribute"],
        value=document["value"],
        channel=source["channel"],
        where=source["where"],
        photo_sha256=source["photo_sha256"],
        face=document["face"],
        p=document["p"],
        u=document["u"],
    )


def same_unit_or_photo(one: Iterable[Observation], other: Iterable[Observation]) -> bool:
    """Whether two lines share a serial number or a photo, so that each matters to the other's answer."""
    return bool(_ties(one) & _ties(other))


def _ties(observations: Iterable[Observation]) -> set[tuple[str, str]]:
    seen = tuple(observations)
    serials = {("serial", str(each.value)) for each in seen if each.attribute == "serial"}
    return serials | {("photo", sha256) for sha256 in own_photos(seen)}
