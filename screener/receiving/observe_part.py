"""The part as its photos show it, to observations: one photo by itself, or several of one face read together."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.screening.model import Source
from screener.screening.observed import CERTAIN_FROM_P, ON_CLOSURE
from screener.specs.makers import match_maker

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.looking.reading import PhotoReading
    from screener.receiving.observe import Face, Notebook
    from screener.screening.model import Attribute, Channel, Point
    from screener.vision.model import (
        CageSeen,
        ClosureSeen,
        DetailSeen,
        Ellipse,
        GrooveSeen,
        LipFaceSeen,
        MarkPlace,
        Measured,
        PartSeen,
        SizeCandidate,
    )
    from screener.vision.several import Ballot, Elected

LIKELY_SIZE_P = 0.08
LEAST_DESIGNATION_P = 0.5
"""A mark read with less is not an observation: the table of sizes makes almost any smudge read as some bearing."""
POOR_FOR_MARKS = frozenset({"blurred", "dark", "glare", "glare_on_mark", "too_far", "letters_low", "cut_off"})
"""Problems of a photo in which letters look uneven whatever they are."""
LEAST_MARGIN = 0.2
"""By how much a mark read from several photos together must be likelier than any other."""
LEAST_TO_OUTVOTE = 2
"""Photos that must read the same before another that reads otherwise is set aside."""
_MEASURES: tuple[Attribute, ...] = ("bore_to_od", "od_mm", "bore_mm")


@dataclass(frozen=True, slots=True)
class Look:
    """The part in one photo."""

    reading: PhotoReading
    part: PartSeen
    face: Face

    @property
    def outline(self) -> tuple[Point, ...]:
        """The part's outer edge in the photo."""
        return outline_of(self.part.outer_ellipse_px)


def source_of(
    reading: PhotoReading, channel: Channel, region: tuple[Point, ...] = (), reader: str = "", also: Sequence[str] = ()
) -> Source:
    """Where in a photo something was read, and which further photos say the same."""
    return Source(channel, reading.photo, reading.sha256, region, reader, tuple(also))


def squeezed(text: str) -> str:
    """Letters and digits only: how texts are compared."""
    return re.sub(r"[^0-9A-Z]", "", text.upper())


def observe_looks(looks: Sequence[Look], notebook: Notebook) -> None:
    """Note what the photos of one face show; photos that cannot be of one part are noted one by one."""
    if len(looks) > 1 and _of_one_part(looks):
        _observe_shape_together(looks, notebook)
        _observe_face_together(looks, notebook)
        _observe_designation_together(looks, notebook)
        for look in looks:
            _observe_texts(look, notebook)
        return
    for look in looks:
        _observe_alone(look, notebook)


def _of_one_part(looks: Sequence[Look]) -> bool:
    from screener.vision.several import of_one_part

    return len({look.part.kind for look in looks}) == 1 and all(
        of_one_part([number for _, number in _measured(looks, attribute)]) for attribute in _MEASURES
    )


def _measured(looks: Sequence[Look], attribute: Attribute) -> list[tuple[Look, Measured]]:
    return [(look, number) for look in looks if (number := getattr(look.part, attribute)) is not None]


def _observe_alone(look: Look, notebook: Notebook) -> None:
    part, geometry = look.part, source_of(look.reading, "geometry", look.outline)
    notebook.note("kind", part.kind, geometry, p=part.kind_p)
    for attribute in _MEASURES:
        for _, number in _measured([look], attribute):
            notebook.note(attribute, number.value, geometry, u=number.u)
    _observe_sizes(part.sizes, geometry, notebook)
    _observe_face_alone(look, notebook)
    _observe_designation_alone(look, notebook)
    _observe_texts(look, notebook)


def _observe_sizes(sizes: tuple[SizeCandidate, ...], source: Source, notebook: Notebook) -> None:
    if sizes:
        others = tuple((s.name, s.p) for s in sizes[:8])
        notebook.note("size", likely_sizes(others), source, alternatives=others)


def _observe_face_alone(look: Look, notebook: Notebook) -> None:
    seen = source_of(look.reading, "face", look.outline)
    if look.part.closure is not None:
        notebook.note("closure", look.part.closure.value, seen, p=look.part.closure.p, face=look.face)
    if look.part.lip_face is not None:
        notebook.note("lip_face", look.part.lip_face.value, seen, p=look.part.lip_face.p, face=look.face)


def _observe_details(look: Look, notebook: Notebook) -> None:
    """Cage, garter spring and snap-ring groove, where they are seen: not seen says nothing."""
    details: tuple[tuple[Attribute, CageSeen | DetailSeen | GrooveSeen | None], ...] = (
        ("cage", look.part.cage),
        ("garter_spring", look.part.garter_spring),
        ("snap_ring_groove", look.part.snap_ring_groove),
    )
    for attribute, seen in details:
        if seen is not None and seen.value != "not_seen":
            source = source_of(look.reading, "face", look.outline)
            notebook.note(attribute, seen.value, source, p=seen.p, face=look.face)


def _observe_shape_together(looks: Sequence[Look], notebook: Notebook) -> None:
    """Kind, measures and sizes of one part seen several times; each rests on the photos that gave it."""
    from screener.vision.several import combine

    surest = max(looks, key=lambda look: look.part.kind_p or 0.0)
    notebook.note("kind", surest.part.kind, _together(surest, looks, "geometry"), p=surest.part.kind_p)
    sharpest = min(looks, key=_vagueness)
    fused: dict[Attribute, Measured] = {}
    for attribute in _MEASURES:
        measured = _measured(looks, attribute)
        if measured:
            fused[attribute] = number = combine([number for _, number in measured])
            source = _together(sharpest, [look for look, _ in measured], "geometry")
            notebook.note(attribute, number.value, source, u=number.u)
    if fused:
        _observe_sizes(_sizes(surest.part, fused), _together(sharpest, looks, "geometry"), notebook)


def _vagueness(look: Look) -> tuple[int, float]:
    """Photos that gave more measures come first, among them the one that is surest of its ratio."""
    missing = sum(getattr(look.part, attribute) is None for attribute in _MEASURES)
    return missing, look.part.bore_to_od.u if look.part.bore_to_od else math.inf


def _sizes(part: PartSeen, fused: dict[Attribute, Measured]) -> tuple[SizeCandidate, ...]:
    """Standard sizes ranked by the combined measures; the height of the edge is settled in them already."""
    from screener.vision.measure import Measures
    from screener.vision.sizes import rank_sizes, seen_od_mm

    od = fused.get("od_mm")
    seen_mm = seen_od_mm(od.value, part.kind) if od else 0.0
    at_any_height = ((0.0, seen_mm), (100.0, seen_mm)) if od else ()
    measures = Measures(
        fused.get("bore_to_od"), od, fused.get("bore_mm"), at_any_height, od.u / od.value if od else 0.0
    )
    return rank_sizes(measures, kind=part.kind)


def _observe_face_together(looks: Sequence[Look], notebook: Notebook) -> None:
    """Closure or lip side of one face. Where nobody says that it is one face, only photos that agree are one."""
    for attribute, words in (("closure", ("open", "shield", "rubber_seal")), ("lip_face", ("spring_side", "back"))):
        answers = [(look, seen) for look in looks if (seen := getattr(look.part, attribute)) is not None]
        telling = [(look, seen) for look, seen in answers if seen.value in words]
        if len(telling) < 2 or (looks[0].face == "unknown" and len({seen.value for _, seen in telling}) > 1):
            for look, seen in answers:
                source = source_of(look.reading, "face", look.outline)
                notebook.note(_as_attribute(attribute), seen.value, source, p=seen.p, face=look.face)
            continue
        _observe_elected_class(_as_attribute(attribute), words, telling, notebook)


def _as_attribute(word: str) -> Attribute:
    return "closure" if word == "closure" else "lip_face"


def _observe_elected_class(
    attribute: Attribute,
    words: Sequence[str],
    telling: Sequence[tuple[Look, ClosureSeen | LipFaceSeen]],
    notebook: Notebook,
) -> None:
    from screener.vision.several import Ballot, elect_class

    ballots = [Ballot({seen.value: seen.p}) for _, seen in telling]
    elected = elect_class(ballots, words)
    if elected is None:
        return
    supporters = [telling[i][0] for i in elected.supporters]
    best = max(elected.supporters, key=lambda i: ballots[i].chances[elected.value])
    source = _together(telling[best][0], supporters, "face")
    notebook.note(attribute, elected.value, source, p=round(elected.p, 3), face=telling[best][0].face)


def _together(best: Look, looks: Sequence[Look], channel: Channel) -> Source:
    also = [look.reading.photo for look in looks if look is not best]
    return source_of(best.reading, channel, best.outline, also=also)


def _observe_designation_alone(look: Look, notebook: Notebook) -> None:
    read = look.part.designation
    if read is not None and read.p >= LEAST_DESIGNATION_P:
        source = _mark_source(look, read.text, _place_of(look, read.text))
        notebook.note("designation", read.text, source, p=read.p, face=look.face)


def _place_of(look: Look, text: str) -> MarkPlace | None:
    mark = next((m for m in look.part.marks if squeezed(text) in squeezed(m.text)), None)
    return mark.place if mark else None


def _mark_source(look: Look, text: str, place: MarkPlace | None, also: Sequence[str] = ()) -> Source:
    mark = next((m for m in look.part.marks if squeezed(text) in squeezed(m.text)), None)
    where = mark.region_px if mark else look.outline
    return source_of(look.reading, "marking", where, ON_CLOSURE if place == "closure" else "mark", also)


def _observe_designation_together(looks: Sequence[Look], notebook: Notebook) -> None:
    """One reading of the mark from all photos of a face; on the ring and on the closure may stand different texts."""
    left = list(looks)
    places: tuple[MarkPlace, ...] = ("ring", "closure", "body")
    for place in places:
        voting = [look for look in looks if _ballot(look, place).chances]
        if len(voting) > 1 and (settled := _observe_elected_mark(voting, place, notebook)):
            left = [look for look in left if look not in settled]
    for look in left:
        _observe_designation_alone(look, notebook)


def _ballot(look: Look, place: MarkPlace) -> Ballot:
    """What a photo makes of the text in one place; a reading without votes is a vote itself."""
    from screener.vision.several import Ballot

    votes = {vote.text: vote.p for vote in look.part.mark_votes if vote.place == place}
    read = look.part.designation
    if not look.part.mark_votes and read is not None and (_place_of(look, read.text) or "ring") == place:
        votes = {read.text: read.p}
    return Ballot(votes)


def _observe_elected_mark(looks: Sequence[Look], place: MarkPlace, notebook: Notebook) -> list[Look]:
    """Note what the photos settle on, and return those that it speaks for; none where they do not settle."""
    from screener.vision.several import elect_designation

    ballots = [_ballot(look, place) for look in looks]
    elected = elect_designation(ballots)
    if elected is None or elected.p < LEAST_DESIGNATION_P or elected.margin < LEAST_MARGIN:
        return []
    against = [looks[i] for i in elected.opponents if _reads_otherwise(looks[i], elected)]
    if against and (len(elected.supporters) < LEAST_TO_OUTVOTE or any(_is_certain(look) for look in against)):
        return []
    supporters = [looks[i] for i in elected.supporters] or list(looks)
    best = max(supporters, key=lambda look: max(_ballot(look, place).chances.values()))
    also = [look.reading.photo for look in supporters if look is not best]
    source = _mark_source(best, elected.value, place, also)
    notebook.note("designation", elected.value, source, p=round(elected.p, 3), face=best.face)
    for look in against:
        _note_outvoted(look, elected, notebook)
    return list(looks)


def _reads_otherwise(look: Look, elected: Elected) -> bool:
    """Whether a photo by itself reads something else, and not only the beginning of it."""
    read = look.part.designation
    return (
        read is not None
        and read.p >= LEAST_DESIGNATION_P
        and not squeezed(elected.value).startswith(squeezed(read.text))
    )


def _is_certain(look: Look) -> bool:
    return look.part.designation is not None and look.part.designation.p >= CERTAIN_FROM_P


def _note_outvoted(look: Look, elected: Elected, notebook: Notebook) -> None:
    read = look.part.designation
    if read is not None:
        says = (
            f"by itself its mark would read {read.text}; the other photos read {elected.value} and outvote it: "
            "look whether it shows the same part."
        )
        notebook.note("problem", says, source_of(look.reading, "photo", reader="outvoted"))


def _observe_texts(look: Look, notebook: Notebook) -> None:
    for mark in look.part.marks:
        source = source_of(look.reading, "marking", mark.region_px)
        notebook.note("text", mark.text, source, p=mark.p)
        if match_maker(mark.text) is not None:
            notebook.note("maker", mark.text, source, p=mark.p, face=look.face)
    _observe_details(look, notebook)
    _observe_evenness(look, notebook)


def _observe_evenness(look: Look, notebook: Notebook) -> None:
    """How evenly each text is made; what a poor photo shows of it is not noted, for it would blame the part."""
    if POOR_FOR_MARKS & {problem.code for problem in look.reading.problems}:
        return
    names: tuple[tuple[Attribute, str], ...] = (
        ("mark_spacing", "spacing"),
        ("mark_baseline", "baseline"),
        ("mark_stroke", "stroke"),
        ("mark_contrast", "contrast"),
    )
    for mark in look.part.evenness:
        place = next((m.region_px for m in look.part.marks if squeezed(m.text) == squeezed(mark.text)), look.outline)
        for attribute, name in names:
            spread: Measured | None = getattr(mark, name)
            if spread is not None:
                source = source_of(look.reading, "marking", place, mark.text)
                notebook.note(attribute, round(spread.value, 4), source, u=round(spread.u, 4), face=look.face)


def likely_sizes(sizes: tuple[tuple[str, float], ...]) -> str:
    """The sizes that a picture leaves well possible, as a person would say it: ``6202 or 6001``."""
    ranked = [name for name, p in sizes if p >= LIKELY_SIZE_P][:4] or [sizes[0][0]]
    covered = sum(p for name, p in sizes if name in ranked)
    words = ranked if covered >= 0.8 else [*ranked, "others"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def outline_of(ellipse: Ellipse, corners: int = 48) -> tuple[Point, ...]:
    """An ellipse as a closed polygon in photo pixels, for drawing."""
    turn = math.radians(ellipse.angle_deg)
    points = []
    for i in range(corners):
        t = 2 * math.pi * i / corners
        x, y = ellipse.a * math.cos(t), ellipse.b * math.sin(t)
        points.append(
            (
                round(ellipse.cx + x * math.cos(turn) - y * math.sin(turn), 1),
                round(ellipse.cy + x * math.sin(turn) + y * math.cos(turn), 1),
            )
        )
    return tuple(points)
