"""Which standard sizes fit what was measured, and how probable each is.

Without a scale only d/D is known, and many sizes share it: the answer is then a list, and the first of it is little
more than the commonest size of that shape. With the card the OD decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from screener.specs.boundary import boundary_rows
from screener.specs.seals import seal_sizes
from screener.vision.model import Measured, SizeCandidate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.vision.measure import Measures, PartWord

SERIES_WEIGHT = {"60": 1.0, "62": 1.0, "63": 0.7, "69": 0.3, "68": 0.3, "619": 0.1, "618": 0.1, "160": 0.1,
                 "64": 0.05, "622": 0.05, "623": 0.05, "630": 0.05, "67": 0.05}  # fmt: skip
"""How often a series turns up on a repair shop's bench, beside 62. Common practice: electric motors, fans and idlers
run on 60, 62 and 63; thin sections (68, 69) are counted in tens, wide and heavy series in single pieces."""
OTHER_SERIES_WEIGHT = 0.02
MIDDLE_BORE_MM = 16.0
BORE_SPREAD = 0.7
"""Common practice: stock is thickest from 8 to 35 mm bore; the weight falls as a log-normal with this spread."""
NOT_IN_TABLE = 0.02
"""Prior of a part that is in no row (special sizes, a disc that is no bearing)."""
SEAL_PRESS_FIT = Measured(0.2, 0.07)
"""Free OD over the housing bore that names it: 0.1 to 0.35 mm below 80 mm (seal_press_fit.csv)."""


@dataclass(frozen=True, slots=True)
class StandardSize:
    """One size that a part may have."""

    name: str
    bore_mm: float
    od_mm: float
    width_mm: float
    weight: float
    """Prior, up to a common factor."""
    free_od_mm: float
    """Diameter that is seen: a shaft seal is larger than the housing that names it."""


@cache
def standard_sizes(kind: PartWord = "bearing") -> tuple[StandardSize, ...]:
    """All rows that the picture of such a part can be of, with their priors."""
    if kind == "shaft_seal":
        return tuple(
            StandardSize(
                r.size,
                r.shaft_mm,
                r.housing_mm,
                r.width_mm,
                _seal_weight(r.width_mm),
                r.housing_mm + SEAL_PRESS_FIT.value,
            )
            for r in seal_sizes()
        )
    rows = (r for r in boundary_rows() if r.family == "deep groove ball")
    sizes = [
        StandardSize(r.designation, r.bore_mm, r.od_mm, r.width_mm, _weight(r.designation, r.bore_mm), r.od_mm)
        for r in rows
    ]
    return _without_doubles(sizes)


def _without_doubles(sizes: list[StandardSize]) -> tuple[StandardSize, ...]:
    """Two names of the same three dimensions (6802 and 61802) stay one row, under the commoner name."""
    best: dict[tuple[float, float, float], StandardSize] = {}
    for size in sizes:
        key = (size.bore_mm, size.od_mm, size.width_mm)
        if key not in best or size.weight > best[key].weight:
            best[key] = size
    return tuple(best.values())


def _weight(designation: str, bore_mm: float) -> float:
    series = _series(designation)
    common = SERIES_WEIGHT.get(series, OTHER_SERIES_WEIGHT)
    return common * math.exp(-0.5 * (math.log(bore_mm / MIDDLE_BORE_MM) / BORE_SPREAD) ** 2)


def _series(designation: str) -> str:
    """Series part of a canonical designation: the bore code is one digit (608), two (6202) or after a stroke."""
    head, stroke, _ = designation.partition("/")
    if stroke:
        return head
    return head[:-1] if len(head) == 3 else head[:-2]


def _seal_weight(width_mm: float) -> float:
    """Widths of 7, 8 and 10 mm are the stock of the ISO 6194-1 list."""
    return 1.0 if width_mm in (7.0, 8.0, 10.0) else 0.4


def rank_sizes(
    measures: Measures, rows: Sequence[StandardSize] | None = None, *, kind: PartWord = "bearing", most: int = 12
) -> tuple[SizeCandidate, ...]:
    """Standard sizes by posterior probability, the most probable first.

    The probabilities of all rows and of "none of them" sum to one; what is missing to one is the latter and the tail.
    Sizes that differ only in width are as probable as they are common, as the picture does not show the width.
    """
    sizes = standard_sizes(kind) if rows is None else tuple(rows)
    posterior = _posterior(measures, sizes)
    ranked = sorted(zip(posterior, sizes, strict=True), key=lambda pair: -pair[0])[:most]
    return tuple(SizeCandidate(s.name, s.bore_mm, s.od_mm, s.width_mm, p) for p, s in ranked if p >= 0.001)


def _posterior(measures: Measures, sizes: Sequence[StandardSize]) -> list[float]:
    if measures.bore_to_od is None and not measures.od_at_height:
        return [0.0] * len(sizes)
    total = sum(s.weight for s in sizes)
    joint = [s.weight / total * (1 - NOT_IN_TABLE) * _likelihood(measures, s) for s in sizes]
    evidence = sum(joint) + NOT_IN_TABLE * _unlisted_likelihood(measures)
    return [j / evidence for j in joint] if evidence > 0 else [0.0] * len(sizes)


def _likelihood(measures: Measures, size: StandardSize) -> float:
    value = 1.0
    if measures.bore_to_od is not None:
        value *= _density(size.bore_mm / size.od_mm, _of_housing_and_shaft(measures.bore_to_od, size))
    od_mm = measures.od_for_width_mm(size.width_mm)
    if od_mm is not None:
        u_rel = math.hypot(measures.od_u_rel, measures.distance_u_rel(size.width_mm))
        value *= _density(size.free_od_mm, Measured(od_mm, od_mm * u_rel))
    return value


def _of_housing_and_shaft(ratio: Measured, size: StandardSize) -> Measured:
    """A free lip is 1 to 4 % under its shaft, the case is over its housing; how much of the lip shows varies."""
    if size.free_od_mm == size.od_mm:
        return ratio
    return Measured(1.03 * ratio.value, math.hypot(ratio.u, 0.03))


def _density(x: float, seen: Measured) -> float:
    """Student's t, 5 degrees of freedom: mistaken edges are commoner than a Gaussian allows."""
    t = (x - seen.value) / seen.u
    return 0.3796 / seen.u * (1 + t * t / 5) ** -3


def _unlisted_likelihood(measures: Measures) -> float:
    """Of a part of any shape: d/D even over 0.2 to 0.9, OD even in its logarithm over 3 to 300 mm."""
    value = 1.0
    if measures.bore_to_od is not None:
        value /= 0.7
    od_mm = measures.od_for_width_mm(8.0)
    if od_mm is not None:
        value /= od_mm * math.log(100.0)
    return value


def height_solved(measures: Measures, kind: PartWord) -> Measures:
    """Fill in OD and bore: height of the edge and distance of the camera are those that go with each standard size.

    Each size counts by how well it fits. Where the card leaves the focal length open (seen from straight above, no
    EXIF), so is the distance, and with it how much larger an edge looks that stands above the bench.
    """
    sizes = standard_sizes(kind)
    posterior = _posterior(measures, sizes)
    parts = [(p, _od_as(measures, s)) for p, s in zip(posterior, sizes, strict=True) if p > 1e-4]
    parts.append((max(1.0 - sum(p for p, _ in parts), 0.0), _od_of_usual_width(measures)))
    total = sum(p for p, _ in parts)
    mean = sum(p * od.value for p, od in parts) / total
    variance = sum(p * ((od.value - mean) ** 2 + od.u**2) for p, od in parts) / total
    od = Measured(mean, math.sqrt(variance))
    ratio = measures.bore_to_od
    solved = replace(measures, od_mm=nominal_od(od, kind))
    if ratio is None:
        return solved
    bore = Measured(od.value * ratio.value, od.value * ratio.value * math.hypot(od.u / od.value, ratio.u / ratio.value))
    return replace(solved, bore_mm=bore)


def nominal_od(seen: Measured, kind: PartWord) -> Measured:
    """Diameter that names a part, from the one that is seen: a seal stands over its housing until it is pressed in."""
    if kind == "bearing":
        return seen
    return Measured(seen.value - SEAL_PRESS_FIT.value, math.hypot(seen.u, SEAL_PRESS_FIT.u))


def seen_od_mm(nominal_mm: float, kind: PartWord) -> float:
    """Inverse of `nominal_od`, the value alone."""
    return nominal_mm if kind == "bearing" else nominal_mm + SEAL_PRESS_FIT.value


def _od_as(measures: Measures, size: StandardSize) -> Measured:
    """OD if the part is of that size: its edge is that high, and the distance is moved as far as the size asks.

    Of the difference between seen and standard diameter the distance takes the share that it leaves open; what the
    edges leave open stays a difference.
    """
    seen = measures.od_for_width_mm(size.width_mm) or 0.0
    edges, distance = measures.od_u_rel, measures.distance_u_rel(size.width_mm)
    share = distance**2 / (distance**2 + edges**2) if distance > 0 else 0.0
    od_mm = seen + share * (size.free_od_mm - seen)
    return Measured(od_mm, od_mm * math.hypot(edges, distance * math.sqrt(1 - share)))


def _od_of_usual_width(measures: Measures) -> Measured:
    """OD of a part in no table: a quarter of it wide, as most are."""
    od_mm = measures.od_at_height[0][1]
    for _ in range(3):
        od_mm = measures.od_for_width_mm(0.27 * od_mm) or od_mm
    return Measured(od_mm, od_mm * math.hypot(measures.od_u_rel, measures.distance_u_rel(0.27 * od_mm)))
