"""Answers, photos and readings in the words of the bench; the words of a result are those of every report."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from screener.parts import explain
from screener.reports.wording import (
    ATTRIBUTE_WORDS,
    CHANNEL_WORDS,
    KEEP_AND_ASK,
    KEEP_EVERYTHING,
    LOOK_AGAIN,
    SEND_BACK,
    UNITS,
    USE,
    suspicion_says,
    value_says,
    verdict_of_person,
)
from screener.screening.model import Observation, Source, Suspicion

if TYPE_CHECKING:
    from screener.receiving.bench_model import Answer, BenchLine, BenchPhoto, Correction, HandReading, Observed
    from screener.reports.wording import Verdict

SHOT_NAMES = {"box": "Box", "face1": "Face 1", "face2": "Face 2", "card": "Scale card", "other": "Photo"}
CLASS_WORDS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "closure": (("rubber_seal", "rubber seal"), ("shield", "metal shield"), ("open", "open: balls or rollers seen")),
    "lip_face": (("spring_side", "the side with the spring"), ("back", "the back")),
    "kind": (("bearing", "bearing"), ("shaft_seal", "shaft seal")),
}
CORRECTABLE = (
    "designation",
    "maker",
    "closure",
    "lip_face",
    "kind",
    "od_mm",
    "bore_mm",
    "width_mm",
    "bore_to_od",
    "serial",
    "batch",
    "date",
    "country",
    "quantity",
    "gtin",
)
_CLOSURES = {
    "open": "open",
    "shield": "metal shields",
    "non_contact_seal": "rubber seals that do not touch",
    "low_friction_seal": "low-friction rubber seals",
    "contact_seal": "rubber seals",
}
_CLEARANCES = {"C2": "less than normal", "C3": "more than normal", "C4": "more than C3", "C5": "more than C4"}
_BY_EXIT: Mapping[str, Verdict] = {
    "use": USE,
    "keep and ask": KEEP_AND_ASK,
    "look again": LOOK_AGAIN,
    "send back": SEND_BACK,
}


@dataclass(frozen=True, slots=True)
class State:
    """What a line shows in a list: a shape and a word, never a colour."""

    shape: str
    word: str
    detail: str = ""


def verdict_of_answer(answer: Answer) -> State:
    """Return what to do now: a person's word goes before the answer."""
    shown = verdict_of_exit(answer.exit) if answer.standing is None else verdict_of_person(answer.standing)
    return State(shown.shape, shown.word, shown.detail)


def verdict_of_exit(way_out: str) -> Verdict:
    """Return the words for what is done with a part."""
    return _BY_EXIT.get(way_out, LOOK_AGAIN)


def own_words(answer: Answer) -> str:
    """Return what the answer itself says, whatever a person decided after it."""
    shown = verdict_of_exit(answer.exit)
    return f"{shown.word}, {shown.detail}" if shown.detail else shown.word


def state_of(line: BenchLine, *, single: bool = False) -> State:
    """Return how a line stands."""
    if line.state == "answered" and line.begun:
        return State("empty", "BEGUN", "photos still to take")
    if line.state == "answered" and line.answer is not None:
        shown = verdict_of_answer(line.answer)
        return State(shown.shape, shown.word, "so far") if so_far(line, single=single) else shown
    if line.state == "reading":
        return State("clock", "LOOKING", progress_of(line))
    return State("empty", "WAITS", "no photo yet")


def so_far(line: BenchLine, *, single: bool = False) -> str:
    """Return the photos that are still asked for while some were taken, unless a person has decided.

    A single part may come out of a drawer, without its box: only its faces count.
    """
    if line.answer is None or line.answer.standing is not None or not line.photos:
        return ""
    optional = {"card", "box"} if single else {"card"}
    return ", ".join(SHOT_NAMES[each.shows].lower() for each in line.still_wanted if each.shows not in optional)


def progress_of(line: BenchLine) -> str:
    """Return how far the photos of a line are read."""
    done = sum(photo.state != "reading" for photo in line.photos)
    count = len(line.photos)
    return f"{done} of {count} photo{'' if count == 1 else 's'} read" if done < count else "making the answer"


def not_checked_words(answer: Answer) -> str:
    """Return in a few words what was not checked; the sentences stand further down."""
    details = answer.result.get("not_checked_details", ())
    named = dict.fromkeys(each.get("word") or str(each["code"]).replace("_", " ") for each in details)
    return ", ".join(named) + "." if named else "nothing on the list was left out."


def next_words(answer: Answer) -> str:
    """Return the next step; whoever holds or releases a part has said it, what it turned out to be asks for one."""
    if answer.standing is None:
        return answer.next_step
    return "" if answer.standing.kind in {"hold", "release"} else answer.standing.next_step


def keep_words(answer: Answer) -> str:
    """Return what is never done with a part that may be evidence."""
    if answer.standing is None and answer.exit == "keep and ask":
        return KEEP_EVERYTHING
    return ""


def suspicion_words(answer: Answer) -> str:
    """Return the level of suspicion in words with its range."""
    found = answer.result.get("suspicion")
    if not isinstance(found, Mapping):
        return f"Suspicion level: {answer.suspicion}."
    return suspicion_says(Suspicion(found["level"], found["ratio_db"], found["low_db"], found["high_db"]))


def need_words(need: str) -> str:
    """Return what a designation means: kind, size, closure, clearance, material."""
    told = explain(need)
    if not told.understood:
        return "This designation is not fully understood: look at what was ordered."
    sizes = [told.bore_mm, told.od_mm, told.width_mm]
    size = " × ".join(f"{each:g}" for each in sizes if each is not None)
    pieces = [told.family or (told.kind or "").replace("_", " "), f"{size} mm" if size else ""]
    if told.closure is not None:
        sides = {0: "", 1: " on one side", 2: " on both sides"}[told.closure.sides]
        pieces.append(_CLOSURES[told.closure.kind] + sides)
    if told.clearance in _CLEARANCES:
        pieces.append(f"clearance {told.clearance}, {_CLEARANCES[told.clearance]}")
    if told.material:
        pieces.append(told.material)
    said = ", ".join(piece for piece in pieces if piece)
    return said[:1].upper() + said[1:] + "."


@dataclass(frozen=True, slots=True)
class Seen:
    """Something that was read, ready to be corrected."""

    key: str
    what: str
    value: str
    plain: str
    """The value as it is typed into a field."""
    by: str
    attribute: str = ""
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()


def seen_of(answer: Answer) -> list[Seen]:
    """Return what was read by machine, what matters most first."""
    read = [
        each for each in answer.observed if each.attribute in CORRECTABLE and each.channel not in {"person", "order"}
    ]
    read = [each for each in read if each.channel != "instrument"]
    return [_seen(each) for each in sorted(read, key=lambda each: CORRECTABLE.index(each.attribute))]


def _seen(each: Observed) -> Seen:
    source = Source(_channel(each.channel), each.where)
    shown = Observation(each.key, _attribute(each.attribute), each.value, source, p=each.p, u=each.u)
    plain = each.value if isinstance(each.value, str) else f"{each.value:.6g}"
    what = ATTRIBUTE_WORDS.get(each.attribute, each.attribute)
    return Seen(
        each.key,
        what[:1].upper() + what[1:],
        value_says(shown),
        plain,
        f"{CHANNEL_WORDS.get(each.channel, each.channel)}, {each.where}",
        each.attribute,
        UNITS.get(each.attribute, ""),
        CLASS_WORDS.get(each.attribute, ()),
    )


FIRST_READ = frozenset({"designation", "maker", "closure", "lip_face"})


def first_of(seen: Sequence[Seen]) -> list[Seen]:
    """Return what decides most, each value once: number, maker, closure."""
    first: dict[tuple[str, str], Seen] = {}
    for each in seen:
        if each.attribute in FIRST_READ:
            first.setdefault((each.attribute, each.plain), each)
    return list(first.values())


def rest_of(seen: Sequence[Seen]) -> list[Seen]:
    """Return what `first_of` leaves: the same again from other photos, and everything else."""
    first = {each.key for each in first_of(seen)}
    return [each for each in seen if each.key not in first]


def also_read(answer: Answer) -> list[str]:
    """Return lines of text that say nothing further."""
    return list(dict.fromkeys(str(each.value) for each in answer.observed if each.attribute == "text"))


def _channel(word: str) -> Any:
    return word


def _attribute(word: str) -> Any:
    return word


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number with its noun: ``1 piece``, ``2 pieces``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def moment(text: str | None) -> str:
    """Return a moment of the record in this machine's time: ``25 November, 16:40``."""
    if not text:
        return ""
    at = dt.datetime.fromisoformat(text).astimezone()
    return f"{at.day} {at:%B}, {at:%H:%M}"


def day(iso_date: str) -> str:
    """Return a date in words: ``25 November 2026``."""
    at = dt.date.fromisoformat(iso_date)
    return f"{at.day} {at:%B %Y}"


def photo_says(photo: BenchPhoto) -> str:
    """Return how a photo fared: being read, read, or that it cannot be used, why and what to do."""
    if photo.state == "reading":
        return "Being read, or waits its turn."
    if photo.state == "unreadable":
        return f"Can't be used: {photo.says or 'nothing in it can be read; take it again'}"
    if photo.says:
        return f"Read, but: {photo.says}"
    return "Read. The scale card is in it." if photo.card else "Read."


def tile_name(photo: BenchPhoto) -> str:
    """Return which of the photos asked for this one is, and that the scale card is in it too."""
    name = "Not one of those asked for" if photo.shows == "other" else shot_name(photo.shows)
    return f"{name}, with scale card" if photo.card else name


def shot_name(shows: str) -> str:
    """Return what a photo is said to show, as a heading."""
    return SHOT_NAMES.get(shows, "Photo")


def code_says(text: str) -> str:
    """Return a scanned code with its invisible separators shown."""
    return "".join({"\x1d": "␝", "\x1e": "␞", "\x04": "␄"}.get(letter, letter) for letter in text)


def reading_says(reading: HandReading) -> str:
    """Return a number read by a person, with the instrument and the name."""
    what = ATTRIBUTE_WORDS.get(reading.what, reading.what)
    words = dict(CLASS_WORDS.get(reading.what, ()))
    value = words.get(reading.value, reading.value) if isinstance(reading.value, str) else f"{reading.value:g}"
    face = "" if reading.face == "unknown" else f", {reading.face} face"
    warm = "" if reading.temperature_c is None else f" at {reading.temperature_c:g} °C"
    by = f" ({reading.who})" if reading.who else ""
    unit = f" {UNITS[reading.what]}" if reading.what in UNITS else ""
    return f"{what[:1].upper()}{what[1:]}{face}: {value}{unit}, {_with(reading.instrument)}{warm}{by}"


def _with(instrument: str) -> str:
    return "seen by eye" if instrument == "eye" else f"by {instrument}"


def correction_says(correction: Correction) -> str:
    """Return what a person corrected: what was read, what is there, who says so."""
    what = ATTRIBUTE_WORDS.get(correction.attribute, correction.attribute)
    was, now = (_plain(correction.attribute, value) for value in (correction.was, correction.value))
    says = f"is {now}" if correction.value is not None else "is not there"
    by = f"{correction.who}, {moment(correction.at)} ({correction.why})"
    return f"{what[:1].upper()}{what[1:]}: read as {was}, {says} – {by}"


def _plain(attribute: str, value: str | float | None) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    return dict(CLASS_WORDS.get(attribute, ())).get(str(value), str(value))


def line_url(run_id: int, line: str) -> str:
    """Return the address of a line."""
    return act_url(run_id, "lines", line)


def act_url(run_id: int, act: str, line: str) -> str:
    """Return the address where something is done with a line; a box of a line (``3/2``) is one name."""
    return f"/deliveries/{run_id}/{act}/{quote(line, safe='')}"


def photo_url(sha256: str, side_px: int = 1600) -> str:
    """Return the address of a photo, upright and reduced."""
    return f"/photos/{sha256}/small.jpg?side={side_px}"
