"""Items built for tests: what a reader would have observed, written down by hand."""

from __future__ import annotations

from screener.parts import explain
from screener.screening.model import Item, Observation, Requirement, Source, Surroundings

TODAY = Surroundings(today="2026-03-12")


def need(text: str, **more: object) -> Requirement:
    duty = more.pop("duty", frozenset())
    return Requirement(line="1", need=text, explained=explain(text), duty=frozenset(duty), **more)


def item(requirement: Requirement, *observations: Observation, key: str = "1") -> Item:
    numbered = tuple(
        Observation(f"o{n}", o.attribute, o.value, o.source, o.p, o.u, o.alternatives, o.face, o.confirmed)
        for n, o in enumerate(observations, start=1)
    )
    return Item(key, requirement, numbered)


def label(attribute: str, value: object, p: float = 0.95) -> Observation:
    return Observation("", attribute, value, Source("label", "box.jpg", "b" * 64), p=p)


def barcode(attribute: str, value: object, *, confirmed: bool = True) -> Observation:
    return Observation("", attribute, value, Source("barcode", "box.jpg", "b" * 64), confirmed=confirmed)


def mark(value: str, p: float = 0.95, *, attribute: str = "designation", where: str = "face1.jpg") -> Observation:
    return Observation("", attribute, value, Source("marking", where, "f" * 64), p=p)


def closure_text(value: str, p: float = 0.95) -> Observation:
    source = Source("marking", "face1.jpg", "f" * 64, reader="text on the closure")
    return Observation("", "designation", value, source, p=p)


def face(value: str, p: float = 0.97, side: str = "first") -> Observation:
    return Observation("", "closure", value, Source("face", f"{side}.jpg", side[0] * 64), p=p, face=side)


def photo_size(attribute: str, value: float, u: float, where: str = "face1.jpg") -> Observation:
    return Observation("", attribute, value, Source("geometry", where, "f" * 64), u=u)


def reading(attribute: str, value: float, instrument: str = "caliper") -> Observation:
    return Observation("", attribute, value, Source("instrument", instrument))


GOOD_6205 = (
    label("designation", "6205-2RS C3"),
    mark("6205-2RS/C3"),
    face("rubber_seal", side="first"),
    face("rubber_seal", side="second"),
    photo_size("od_mm", 52.1, 0.2),
    photo_size("bore_to_od", 0.481, 0.004),
)
"""Everything a clerk would want to see of a 6205-2RS C3, agreeing."""
