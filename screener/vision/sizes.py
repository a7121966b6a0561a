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
SEAL_PRESS_FIT_MM = 0.2
"""Free OD over the housing bore: 0.1 to 0.35 mm below 80 mm, see the seal tolerances table."""


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
                r.size, r.shaft_mm, r.housing_mm, r.width_mm, _seal_weight(r.width_mm), r.housing_mm + SEAL_PRESS_FIT_MM
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
        value *= _density(size.free_od_mm, Measured(od_mm, od_mm * measures.od_u_rel))
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
    """Fill in OD and bore: the height of the edge is that of each standard size, weighted by how well the size fits."""
    sizes = standard_sizes(kind)
    posterior = _posterior(measures, sizes)
    parts = [
        (p, measures.od_for_width_mm(s.width_mm) or 0.0) for p, s in zip(posterior, sizes, strict=True) if p > 1e-4
    ]
    parts.append((max(1.0 - sum(p for p, _ in parts), 0.0), _od_of_usual_width(measures)))
    total = sum(p for p, _ in parts)
    mean = sum(p * od for p, od in parts) / total
    spread = sum(p * (od - mean) ** 2 for p, od in parts) / total
    od = Measured(mean, math.sqrt(spread + (mean * measures.od_u_rel) ** 2))
    ratio = measures.bore_to_od
    if ratio is None:
        return replace(measures, od_mm=od)
    bore = Measured(od.value * ratio.value, od.value * ratio.value * math.hypot(od.u / od.value, ratio.u / ratio.value))
    return replace(measures, od_mm=od, bore_mm=bore)


def _od_of_usual_width(measures: Measures) -> float:
    """OD of a part in no table: a quarter of it wide, as most are."""
    od_mm = measures.od_at_height[0][1]
    for _ in range(3):
        od_mm = measures.od_for_width_mm(0.27 * od_mm) or od_mm
    return od_mm
