"""Readings of photos, scanners, instruments and people to observations with their source."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from screener.codes.dates import AGE_WORDS
from screener.receiving.observe_part import Look, observe_looks, source_of, squeezed
from screener.screening.checks.codes import CHECK_DIGIT
from screener.screening.model import Observation, Source

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.codes.model import CodeRead
    from screener.looking.reading import PhotoReading
    from screener.screening.model import Attribute, Point
    from screener.vision.model import LabelSeen

Face = Literal["first", "second", "unknown"]
_FACE_IN_NAME = re.compile(r"(?:face|side|seite|flanc)[ _.-]*([12ab])", re.IGNORECASE)
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
    """Note everything that the photos of one item gave; ``faces`` says which face a photo shows, by its name.

    Photos of one face are read together: what they agree on is noted once, with the photos that it rests on.
    """
    names: dict[str, str] = {}
    looks: dict[Face, list[Look]] = {}
    for reading in readings:
        first = names.setdefault(reading.sha256 or reading.photo, reading.photo)
        if first == reading.photo:
            _observe_print(reading, notebook)
            face = (faces or {}).get(reading.photo) or face_of_photo(reading.photo)
            looks.setdefault(face, []).extend(_look_at_part(reading, face))
        else:
            says = f"it is the same picture as {first} and counts once."
            notebook.note("problem", says, source_of(reading, "photo", reader="same picture"))
    for of_one_face in looks.values():
        observe_looks(of_one_face, notebook)


def _look_at_part(reading: PhotoReading, face: Face) -> list[Look]:
    """The part in a photo; what a spoilt photo seems to show is not weak evidence but none: it stays not checked."""
    if not reading.parts or SPOILT & {p.code for p in reading.problems}:
        return []
    return [Look(reading, reading.parts[0], face)]


def _observe_print(reading: PhotoReading, notebook: Notebook) -> None:
    """Note codes and label of a photo; its problems become observations too, so that the report can list them."""
    for problem in reading.problems:
        notebook.note("problem", problem.says, source_of(reading, "photo", reader=problem.code))
    for code in reading.codes:
        _observe_code(code, source_of(reading, "barcode", code.corners_px, code.reader), notebook)
    if reading.label is not None:
        _observe_label(reading, reading.label, notebook)


def observe_scan(code: CodeRead, notebook: Notebook, *, where: str = "handheld scanner") -> None:
    """Note one line from a handheld scanner."""
    _observe_code(code, Source("barcode", where, reader=code.reader), notebook)


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
        notebook.note(attribute, value, source_of(reading, "label", region), p=p if text else None)
    for line in label.lines:
        notebook.note("text", line.text, source_of(reading, "label", line.region_px), p=line.p)


def _line_of(label: LabelSeen, field_name: str) -> tuple[str, float | None, tuple[Point, ...]] | None:
    """The line that the reader says a field stands in; ``None`` when it does not say."""
    index = dict(label.field_lines).get(field_name)
    if index is None or not 0 <= index < len(label.lines):
        return None
    line = label.lines[index]
    return line.text, line.p, line.region_px


def _line_with(label: LabelSeen, value: str | int | None) -> tuple[str, float | None, tuple[Point, ...]]:
    """The line of a label that a field was read from, found again by its text."""
    wanted = squeezed(str(value))
    for line in label.lines:
        if value is not None and wanted and wanted in squeezed(line.text):
            return line.text, line.p, line.region_px
    return "", None, ()
