"""Colours of a unit's label as numbers, and whether a difference of colour is one that an eye would see.

A difference counts only from `LEAST_APART` on: below it another exposure of the same print does as much, and with many
units a comparison would call even that another process.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from screener.audit.batch.colour_difference import Lab, ciede2000
from screener.audit.batch.joining import joined
from screener.audit.batch.unit import AXES, COLOURED, Number, colour_feature

LEAST_APART = 4.6
"""CIEDE2000; what is less may be the camera (the same limit as for a box beside its reference; judgement)."""
_EARLIER_READER = "read by an earlier version that took no colours"

Json = Mapping[str, Any]


def label_colours(looks: Iterable[Json]) -> dict[str, Number]:
    """Return three numbers for each colour that the photos of one unit tell."""
    found: defaultdict[str, list[Number]] = defaultdict(list)
    for colours in _colours(looks):
        # A colour by the card's white is none by the paper's: the two whites differ themselves.
        names = {"print": "print_by_card"} if colours.get("white") == "card" else {each: each for each in COLOURED}
        for what, name in names.items():
            colour = colours.get(what)
            if not colour:
                continue
            for axis in AXES:
                found[colour_feature(name, axis)].append(Number(float(colour[axis]), float(colour["u"])))
    return {name: joined(numbers) for name, numbers in found.items()}


def why_no_colours(looks: Iterable[Json]) -> str:
    """Return why no colour is told of a unit whose label was seen; nothing where one is, or where no label was seen."""
    labels = [each["label"] for each in looks if each.get("label")]
    if not labels or any((each.get("colours") or {}).get("white") for each in labels):
        return ""
    problems = [str((each.get("colours") or {}).get("problem") or _EARLIER_READER) for each in labels]
    return problems[0]


def apart(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """Return the largest CIEDE2000 between two sets of colours, by feature; a colour that lacks an axis counts less.

    An axis that either lacks is taken as equal, so the difference is never made larger by it.
    """
    return max((ciede2000(*_both(what, one, other)) for what in COLOURED), default=0.0)


def _both(what: str, one: Mapping[str, float], other: Mapping[str, float]) -> tuple[Lab, Lab]:
    names = {axis: colour_feature(what, axis) for axis in ("lightness", "green_red", "blue_yellow")}
    pairs = [(one[name], other[name]) if name in one and name in other else (0.0, 0.0) for name in names.values()]
    (light_1, light_2), (red_1, red_2), (yellow_1, yellow_2) = pairs
    return (light_1, red_1, yellow_1), (light_2, red_2, yellow_2)


def _colours(looks: Iterable[Json]) -> Iterable[Json]:
    return [each["label"]["colours"] for each in looks if (each.get("label") or {}).get("colours")]
