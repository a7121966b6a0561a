"""The plots of an audit: every number of a kind in a row; each group found has a shape and a letter of its own.

Shapes, not shades, tell the groups apart, so that a grey print shows them too. The letters are those of the findings.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np

from screener.audit.batch.compare import Group
from screener.audit.batch.robust import spread
from screener.audit.batch.unit import block_of, feature_says, feature_short, is_share, number_says, unit_of_measure
from screener.reports.plot_svg import Axis, Dot, DotKey, DotRow, DotShape, Mark, Words

MOST_DOTS = 400
_FEWEST_UNITS = 8
_END = 8.0
_SHAPES: tuple[DotShape, ...] = ("square", "triangle", "diamond", "ring", "plus")


@dataclass(frozen=True, slots=True)
class Plot:
    """A dot plot of one group: its words, axis and rows, and what its shapes stand for."""

    words: Words
    x: Axis
    rows: tuple[DotRow, ...]
    keys: tuple[DotKey, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class _Special:
    """What is drawn otherwise than the usual units."""

    group: Group
    apart: frozenset[tuple[int, str]]
    found: Mapping[int, Sequence[int]]
    """For each unit of a group found, the places of its groups."""

    def look(self, place: int, feature: str) -> tuple[DotShape, str]:
        """Return a unit's shape in the row of a number, and the word for it; its group there before any other."""
        clusters = self.group.clusters
        mine = sorted(self.found.get(place, ()), key=lambda at: clusters[at].block != block_of(feature))
        if mine:
            return _shape(mine[0]), f", group {letter(mine[0])}"
        return ("cross", ", stands apart") if (place, feature) in self.apart else ("point", "")

    def shown(self, feature: str) -> list[int]:
        """Return the places to draw: all that are special, and of the others evenly so many as a page holds."""
        places = [place for place, unit in enumerate(self.group.units) if feature in unit.numbers]
        usual = [place for place in places if self.look(place, feature)[0] == "point"]
        step = max(1, -(-len(usual) // MOST_DOTS))
        left_out = set(usual) - set(usual[::step])
        return [place for place in places if place not in left_out]


def letter(at: int) -> str:
    """Return the letter of the group found that stands at this place, A first."""
    return ascii_uppercase[at % len(ascii_uppercase)]


def plots_of(group: Group) -> Iterator[Plot]:
    """Yield one plot in spreads for all numbers, and one for each number that has a tolerance, in its own unit."""
    found: defaultdict[int, list[int]] = defaultdict(list)
    for at, cluster in enumerate(group.clusters):
        for place in cluster.units:
            found[place].append(at)
    special = _Special(group, frozenset((each.unit, each.feature) for each in group.outliers), found)
    rows = [row for each in group.numbers if (row := _spread_row(special, each.feature)) is not None]
    if rows and len(group.units) >= _FEWEST_UNITS:
        says = (
            f"Each row is one number of the {len(group.units)} units, in robust spreads from its median; what lies "
            f"further out than {_END:.0f} is drawn at the end."
        )
        title = Words(f"{group.name}: all numbers, in spreads", says)
        yield Plot(title, Axis("robust spreads from the median", -_END, _END), tuple(rows), _keys(group, rows))
    for judged in group.tolerances:
        yield _tolerance_plot(special, judged.feature, judged.lower, judged.upper)


def _shape(at: int) -> DotShape:
    return _SHAPES[min(at, len(_SHAPES) - 1)]


def _keys(group: Group, rows: Sequence[DotRow]) -> tuple[DotKey, ...]:
    """Say what the shapes stand for that are drawn; nothing where all units are drawn alike."""
    drawn = {dot.shape for row in rows for dot in row.dots}
    keys = [
        DotKey(_shape(at), f"group {letter(at)}: {cluster.counts_say}, by {cluster.block}")
        for at, cluster in enumerate(group.clusters)
        if _shape(at) in drawn
    ]
    if "cross" in drawn:
        keys.append(DotKey("cross", "stands apart by itself"))
    return (*keys, DotKey("point", "the other units")) if keys else ()


def _dot(special: _Special, place: int, feature: str, value: float) -> Dot:
    unit = special.group.units[place]
    shape, word = special.look(place, feature)
    said = number_says(feature, unit.numbers[feature].value)
    return Dot(value, shape, f"{unit.key} (record {unit.record}): {said}{word}")


def _spread_row(special: _Special, feature: str) -> DotRow | None:
    units = special.group.units
    values = np.array([unit.numbers[feature].value for unit in units if feature in unit.numbers])
    log = values.min() > 0 and is_share(feature)
    scale = np.log(values) if log else values
    middle, width = float(np.median(scale)), spread(scale)
    if width <= 0:
        return None
    dots = []
    for place in special.shown(feature):
        value = units[place].numbers[feature].value
        far = ((np.log(value) if log else value) - middle) / width
        dots.append(_dot(special, place, feature, float(np.clip(far, -_END, _END))))
    return DotRow(feature_short(feature), tuple(dots), band=(-3, 3), note=f"n {len(values)}")


def _tolerance_plot(special: _Special, feature: str, lower: float, upper: float) -> Plot:
    units = special.group.units
    dots = tuple(_dot(special, place, feature, units[place].numbers[feature].value) for place in special.shown(feature))
    values = [*(dot.value for dot in dots), lower, upper]
    margin = 0.08 * (max(values) - min(values))
    x = Axis(f"{feature_says(feature)}, {unit_of_measure(feature)}", min(values) - margin, max(values) + margin)
    says = f"{len(dots)} units; the band is the tolerance {lower:.3f} to {upper:.3f} mm."
    rows = (DotRow(feature_says(feature), dots, band=(lower, upper)),)
    title = Words(f"{special.group.name}: {feature_says(feature)} against its tolerance", says)
    return Plot(title, x, rows, _keys(special.group, rows))
