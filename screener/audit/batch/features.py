"""From what the record holds of an item to a `Unit`. Whatever is absent is left out; nothing is assumed.

Numbers of several photos of one unit are joined by their uncertainty. A word counts only where its reading is sure.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from statistics import median
from typing import Any

from screener.audit.batch.joining import joined
from screener.audit.batch.label_colours import label_colours, why_no_colours
from screener.audit.batch.mark_shape import mark_numbers
from screener.audit.batch.unit import Number, Photo, Unit
from screener.metrology.temperature import correction_mm
from screener.parts import explain

SURE_FROM_P = 0.85
"""A word read with less is left out of the comparison (the screening's own limit for a single reading)."""

Json = Mapping[str, Any]

_BY_HAND = frozenset({"instrument", "person"})
_BY_INSTRUMENT = frozenset({"bore_mm", "od_mm", "width_mm", "mass_g"})
_BY_PHOTO = frozenset({"bore_to_od", "od_mm", "bore_mm"})
_WORDS = {
    ("barcode", "batch"): "batch on the box",
    ("label", "batch"): "batch on the box",
    ("barcode", "date"): "date on the box",
    ("label", "date"): "date on the box",
    ("barcode", "gtin"): "article number (GTIN)",
    ("label", "maker"): "maker on the box",
    ("label", "country"): "country on the box",
    ("label", "designation"): "designation on the box",
    ("marking", "designation"): "designation on the part",
    ("marking", "maker"): "maker on the part",
    ("marking", "batch"): "batch on the part",
    ("face", "closure"): "closure",
    ("geometry", "kind"): "kind of part",
}


def unit_of(stored: Json, looks: Iterable[Json] = ()) -> Unit:
    """Return the unit of a recorded item.

    Parameters
    ----------
    stored
        ``record``, ``run``, ``item``, ``supplier``, ``recorded_at``, ``disposition``, ``suspicion``, ``requirement``,
        ``photos`` and ``result`` (schema ``screener.result/1``), as an export holds them.
    looks
        What the reader saw in its photos (schema ``screener.look/1``), as far as the record remembers.
    """
    result: Json = stored.get("result") or {}
    observations = [each for each in result.get("observations", ()) if isinstance(each, Mapping)]
    seen = list(looks)
    line: Json = result.get("order_line") or {}
    need = str(stored.get("requirement") or result.get("requirement") or "")
    return Unit(
        record=int(stored["record"]),
        run=int(stored["run"]),
        key=str(stored["item"]),
        group=kind_of(need),
        line=str(line.get("line") or ""),
        ordered_pieces=line.get("quantity"),
        supplier=str(stored.get("supplier") or ""),
        recorded_at=str(stored.get("recorded_at") or ""),
        disposition=str(stored.get("disposition") or "hold"),
        exit=str(result.get("exit") or ""),
        suspicion=str(stored.get("suspicion") or "none"),
        reason=str(result.get("reason") or ""),
        next_step=str(result.get("next_step") or ""),
        need=need,
        numbers={**_numbers(observations), **mark_numbers(seen), **_label_numbers(seen), **label_colours(seen)},
        words={**_words(observations), **_look_words(seen)},
        serials=_serials(observations),
        photos=tuple(Photo(str(p["sha256"]), str(p["name"])) for p in stored.get("photos", ())),
        findings=tuple(
            (str(f.get("code")), str(f.get("weight")), str(f.get("says"))) for f in result.get("findings", ())
        ),
        not_checked=tuple(str(each) for each in result.get("not_checked", ())),
        looked_at=looked_at(bool(stored.get("photos")), observations),
        no_colours=why_no_colours(seen),
    )


def looked_at(photographed: bool, observations: Iterable[Json]) -> bool:
    """Whether a part was looked at: it has a photo, was measured, or a person read something on it.

    A scanned code alone is a look at the box's print only; signs that the order list names are no look at the part.
    """
    return photographed or any(_channel(each) in _BY_HAND and each.get("attribute") != "sign" for each in observations)


@lru_cache(maxsize=4096)
def kind_of(need: str) -> str:
    """Name what was ordered by what decides how it is made: number, closure and clearance, whoever spells it how."""
    part = explain(need)
    if not part.understood or part.basic is None:
        return need or "not named"
    closure = f", {part.closure.kind.replace('_', ' ')}" if part.closure and part.closure.kind != "open" else ""
    clearance = f", {part.clearance}" if part.clearance not in {None, "CN"} else ""
    return f"{part.basic}{closure}{clearance}"


def _channel(observation: Json) -> str:
    return str((observation.get("source") or {}).get("channel", ""))


def _numbers(observations: Iterable[Json]) -> dict[str, Number]:
    found: defaultdict[str, list[Number]] = defaultdict(list)
    for each in observations:
        value, attribute = each.get("value"), str(each.get("attribute"))
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        if _channel(each) == "instrument" and attribute in _BY_INSTRUMENT:
            found[attribute].append(Number(_at_20(attribute, float(value), each.get("temperature_c")), each.get("u")))
        elif _channel(each) == "geometry" and attribute in _BY_PHOTO:
            found[f"photo.{attribute}"].append(Number(float(value), each.get("u")))
    return {name: joined(values) for name, values in found.items()}


def _at_20(attribute: str, value: float, temperature_c: float | None) -> float:
    return value + correction_mm(value, temperature_c) if attribute.endswith("_mm") else value


def _words(observations: Iterable[Json]) -> dict[str, str]:
    found: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for each in observations:
        name = _WORDS.get((_channel(each), str(each.get("attribute"))))
        if name is not None and _is_sure(each) and each.get("value") != "not_seen":
            found[name][str(each.get("value"))] = None
    return {name: " and ".join(_whole(values)) for name, values in found.items()}


def _whole(values: Iterable[str]) -> list[str]:
    """Leave out a value that another one only says more of: ``2026-09`` beside ``2026-09-30``."""
    kept = sorted(values)
    return [each for each in kept if not any(other != each and other.startswith(each) for other in kept)]


def _is_sure(observation: Json) -> bool:
    p = observation.get("p")
    return p is None or float(p) >= SURE_FROM_P or bool(observation.get("confirmed"))


def _serials(observations: Sequence[Json]) -> tuple[tuple[str, str], ...]:
    def said(attribute: str) -> list[str]:
        return [str(each.get("value")) for each in observations if each.get("attribute") == attribute]

    scopes = [*said("gtin"), *said("maker")]
    return tuple((serial, scopes[0] if scopes else "") for serial in dict.fromkeys(said("serial")))


def _look_words(looks: Iterable[Json]) -> dict[str, str]:
    colours: dict[str, None] = {}
    symbols: dict[str, None] = {}
    for look in looks:
        for part in look.get("parts") or ():
            if part.get("rubber_colour"):
                colours[str(part["rubber_colour"])] = None
        for code in look.get("codes") or ():
            symbols[str(code.get("symbology"))] = None
    words = {}
    if colours:
        words["colour of the seal"] = " and ".join(sorted(colours))
    if symbols:
        words["kinds of code on the box"] = " and ".join(sorted(symbols))
    return words


def _label_numbers(looks: Iterable[Json]) -> dict[str, Number]:
    """Heights of a label's lines as shares of its designation line: the same print gives the same shares."""
    found: defaultdict[str, list[float]] = defaultdict(list)
    for look in looks:
        label = look.get("label") or {}
        lines, index = label.get("lines") or [], dict(label.get("field_lines") or ())
        sizes = {name: _line_size(lines[at]) for name, at in index.items() if 0 <= at < len(lines)}
        width, height = sizes.get("designation") or (0.0, 0.0)
        if width <= 0 or height <= 0:
            continue
        letters = len(str(lines[index["designation"]].get("text", "")))
        found["label.letter_width"].append(width / height / max(letters, 1))
        for name, size in sizes.items():
            if name != "designation" and size is not None:
                found[f"label.height_of_{name}"].append(size[1] / height)
    return {name: Number(median(values)) for name, values in found.items()}


def _line_size(line: Json) -> tuple[float, float] | None:
    """Return width and height of a line's outline, in pixels; the longer side is the width."""
    corners: Sequence[tuple[float, float]] = line.get("region_px") or ()
    if len(corners) != 4:
        return None
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    along = (((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 + ((x2 - x3) ** 2 + (y2 - y3) ** 2) ** 0.5) / 2
    across = (((x3 - x0) ** 2 + (y3 - y0) ** 2) ** 0.5 + ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5) / 2
    return max(along, across), min(along, across)
