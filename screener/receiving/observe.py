"""Readings of photos, scanners, instruments and people to observations with their source."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from screener.codes.dates import AGE_WORDS
from screener.screening.checks.codes import CHECK_DIGIT
from screener.screening.model import Observation, Source
from screener.screening.observed import ON_CLOSURE
from screener.specs.makers import match_maker

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.codes.model import CodeRead
    from screener.looking.reading import PhotoReading
    from screener.screening.model import Attribute, Channel, Point
    from screener.vision.model import Ellipse, LabelSeen, Measured, PartSeen

Face = Literal["first", "second", "unknown"]
_FACE_IN_NAME = re.compile(r"(?:face|side|seite|flanc)[ _.-]*([12ab])", re.IGNORECASE)
LIKELY_SIZE_P = 0.08
LEAST_DESIGNATION_P = 0.5
"""A mark read with less is not an observation: the table of sizes makes almost any smudge read as some bearing."""

SPOILT = frozenset({"blurred", "dark"})
"""Problems of a photo that leave nothing of the part to be trusted."""


@dataclass(slots=True)
class Notebook:
    """Collects observations and numbers them in the order made."""

    observations: list[Observation] = field(default_factory=list)

    def note(
        self,
        attribute: Attribute,
        value: str | float | None,
        source: Source,
        *,
        p: float | None = None,
        u: float | None = None,
        face: Face = "unknown",
        alternatives: tuple[tuple[str, float], ...] = (),
        confirmed: bool = False,
        temperature_c: float | None = None,
    ) -> None:
        """Add one observation; nothing is noted for a value that was not read."""
        if value is None or value == "":
            return
        key = f"o{len(self.observations) + 1}"
        self.observations.append(
            Observation(key, attribute, value, source, p, u, alternatives, face, confirmed, temperature_c)
        )


def face_of_photo(name: str) -> Face:
    """Which face the photographer says a photo shows, by the words ``face1``/``face2`` (or side, a/b) in its name."""
    found = _FACE_IN_NAME.search(name)
    if found is None:
        return "unknown"
    return "first" if found.group(1).lower() in "1a" else "second"


def observe_photos(
    readings: Iterable[PhotoReading], notebook: Notebook, faces: Mapping[str, Face] | None = None
) -> None:
    """Note everything that the photos of one item gave; ``faces`` says which face a photo shows, by its name."""
    names: dict[str, str] = {}
    for reading in readings:
        first = names.setdefault(reading.sha256 or reading.photo, reading.photo)
        if first == reading.photo:
            observe_photo(reading, notebook, face=(faces or {}).get(reading.photo))
        else:
            says = f"it is the same picture as {first} and counts once."
            notebook.note("problem", says, _source(reading, "photo", reader="same picture"))


def observe_photo(reading: PhotoReading, notebook: Notebook, *, face: Face | None = None) -> None:
    """Note what one photo gave; its problems become observations too, so that the report can list them."""
    face = face or face_of_photo(reading.photo)
    for problem in reading.problems:
        notebook.note("problem", problem.says, _source(reading, "photo", reader=problem.code))
    for code in reading.codes:
        _observe_code(code, _source(reading, "barcode", code.corners_px, code.reader), notebook)
    if reading.label is not None:
        _observe_label(reading, reading.label, notebook)
    # What a spoilt photo seems to show is not weak evidence but none: it is listed as not checked.
    if reading.parts and not SPOILT & {p.code for p in reading.problems}:
        _observe_part(reading, reading.parts[0], notebook, face)


def observe_scan(code: CodeRead, notebook: Notebook, *, where: str = "handheld scanner") -> None:
    """Note one line from a handheld scanner."""
    _observe_code(code, Source("barcode", where, reader=code.reader), notebook)


def _source(reading: PhotoReading, channel: Channel, region: tuple[Point, ...] = (), reader: str = "") -> Source:
    return Source(channel, reading.photo, reading.sha256, region, reader)


def _observe_code(code: CodeRead, source: Source, notebook: Notebook) -> None:
    fields, confirmed = code.fields, bool(code.confirmed_by)
    if code.check_digit == "bad":
        notebook.note("problem", f"{CHECK_DIGIT} in {code.symbology} {code.text}", source)
    for remark in code.remarks:
        if AGE_WORDS in remark:
            # Age is judged from the date itself, by what the part is.
            continue
        if code.check_digit != "bad" or "check" not in remark.lower():
            notebook.note("problem", remark.rstrip("."), source)
    noted: tuple[tuple[Attribute, str | int | None], ...] = (
        ("designation", fields.designation),
        ("gtin", fields.gtin.zfill(14) if fields.gtin else None),
        ("batch", fields.batch),
        ("serial", fields.serial),
        ("quantity", fields.quantity),
        ("country", fields.country),
    )
    for attribute, value in noted:
        notebook.note(attribute, value, source, confirmed=confirmed)
    dated = replace(source, reader=fields.date_kind or source.reader)
    notebook.note("date", fields.date, dated, confirmed=confirmed)


def _observe_label(reading: PhotoReading, label: LabelSeen, notebook: Notebook) -> None:
    fields = label.fields
    noted: tuple[tuple[Attribute, str | int | None], ...] = (
        ("designation", fields.designation),
        ("quantity", fields.quantity),
        ("batch", fields.batch),
        ("serial", fields.serial),
        ("maker", fields.maker),
        ("country", fields.country),
        ("date", fields.date),
    )
    for attribute, value in noted:
        text, p, region = _line_of(label, attribute) or _line_with(label, value)
        notebook.note(attribute, value, _source(reading, "label", region), p=p if text else None)
    for line in label.lines:
        notebook.note("text", line.text, _source(reading, "label", line.region_px), p=line.p)


def _line_of(label: LabelSeen, field_name: str) -> tuple[str, float | None, tuple[Point, ...]] | None:
    """The line that the reader says a field stands in; ``None`` when it does not say."""
    index = dict(label.field_lines).get(field_name)
    if index is None or not 0 <= index < len(label.lines):
        return None
    line = label.lines[index]
    return line.text, line.p, line.region_px


def _line_with(label: LabelSeen, value: str | int | None) -> tuple[str, float | None, tuple[Point, ...]]:
    """The line of a label that a field was read from, found again by its text."""
    wanted = _squeezed(str(value))
    for line in label.lines:
        if value is not None and wanted and wanted in _squeezed(line.text):
            return line.text, line.p, line.region_px
    return "", None, ()


def _squeezed(text: str) -> str:
    return re.sub(r"[^0-9A-Z]", "", text.upper())


def _observe_part(reading: PhotoReading, part: PartSeen, notebook: Notebook, face: Face) -> None:
    outline = outline_of(part.outer_ellipse_px)
    geometry = _source(reading, "geometry", outline)
    notebook.note("kind", part.kind, geometry, p=part.kind_p)
    measured: tuple[tuple[Attribute, Measured | None], ...] = (
        ("bore_to_od", part.bore_to_od),
        ("od_mm", part.od_mm),
        ("bore_mm", part.bore_mm),
    )
    for attribute, number in measured:
        if number is not None:
            notebook.note(attribute, number.value, geometry, u=number.u)
    if part.sizes:
        others = tuple((s.name, s.p) for s in part.sizes[:8])
        notebook.note("size", likely_sizes(others), geometry, alternatives=others)
    seen = _source(reading, "face", outline)
    if part.closure is not None:
        notebook.note("closure", part.closure.value, seen, p=part.closure.p, face=face)
    if part.lip_face is not None:
        notebook.note("lip_face", part.lip_face.value, seen, p=part.lip_face.p, face=face)
    _observe_marks(reading, part, notebook, face)


def likely_sizes(sizes: tuple[tuple[str, float], ...]) -> str:
    """The sizes that a picture leaves well possible, as a person would say it: ``6202 or 6001``."""
    ranked = [name for name, p in sizes if p >= LIKELY_SIZE_P][:4] or [sizes[0][0]]
    covered = sum(p for name, p in sizes if name in ranked)
    words = ranked if covered >= 0.8 else [*ranked, "others"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _observe_marks(reading: PhotoReading, part: PartSeen, notebook: Notebook, face: Face) -> None:
    read = part.designation
    if read is not None and read.p >= LEAST_DESIGNATION_P:
        mark = next((m for m in part.marks if _squeezed(read.text) in _squeezed(m.text)), None)
        where = mark.region_px if mark else outline_of(part.outer_ellipse_px)
        reader = ON_CLOSURE if mark is not None and mark.place == "closure" else "mark"
        notebook.note("designation", read.text, _source(reading, "marking", where, reader), p=read.p, face=face)
    for mark in part.marks:
        source = _source(reading, "marking", mark.region_px)
        notebook.note("text", mark.text, source, p=mark.p)
        if match_maker(mark.text) is not None:
            notebook.note("maker", mark.text, source, p=mark.p, face=face)


def outline_of(ellipse: Ellipse, corners: int = 48) -> tuple[Point, ...]:
    """An ellipse as a closed polygon in photo pixels, for drawing."""
    import math

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
