"""All units of a batch together: every comparison, for each group of like units."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from screener.audit.batch import clusters, duplicates, outliers
from screener.audit.batch.capability import AgainstTolerance, against_tolerance
from screener.audit.batch.clusters import Cluster, Tested
from screener.audit.batch.columns import Column, columns_of
from screener.audit.batch.duplicates import Repeated, SerialRun
from screener.audit.batch.mixed import Mixed, find_mixed
from screener.audit.batch.outliers import Outlier
from screener.audit.batch.robust import spread
from screener.audit.batch.unit import Unit

FEWEST_UNITS = 3
"""A number that fewer units have is not summed up."""


@dataclass(frozen=True, slots=True)
class NumberSummary:
    """One number over the units that have it, in its own unit."""

    feature: str
    count: int
    middle: float
    spread: float
    lowest: float
    highest: float
    u: float | None
    """Usual standard uncertainty of one unit's number."""


@dataclass(frozen=True, slots=True)
class Group:
    """Units that were ordered as the same, compared with each other. Places are those of ``units``."""

    name: str
    units: tuple[Unit, ...]
    numbers: tuple[NumberSummary, ...]
    tolerances: tuple[AgainstTolerance, ...]
    outliers: tuple[Outlier, ...]
    tests: int
    """How many numbers were tested together for standing apart."""
    clusters: tuple[Cluster, ...]
    tested: tuple[Tested, ...]
    mixed: tuple[Mixed, ...]
    not_compared: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BatchComparison:
    """What a batch says beyond its single units."""

    groups: tuple[Group, ...]
    repeated_serials: tuple[Repeated, ...]
    repeated_photos: tuple[Repeated, ...]
    serial_runs: tuple[SerialRun, ...]

    @property
    def units(self) -> tuple[Unit, ...]:
        """All units, group by group."""
        return tuple(unit for group in self.groups for unit in group.units)


def compare_batch(units: Iterable[Unit]) -> BatchComparison:
    """Compare the units of a batch with each other and with what was ordered."""
    everything = list(units)
    groups: defaultdict[str, list[Unit]] = defaultdict(list)
    for unit in everything:
        groups[unit.group].append(unit)
    return BatchComparison(
        groups=tuple(_group(name, members) for name, members in groups.items()),
        repeated_serials=tuple(duplicates.repeated_serials(everything)),
        repeated_photos=tuple(duplicates.repeated_photos(everything)),
        serial_runs=tuple(duplicates.serial_runs(everything)),
    )


def _group(name: str, units: Sequence[Unit]) -> Group:
    columns = columns_of(units, FEWEST_UNITS)
    apart, tests = outliers.find_outliers(columns)
    found, tested = clusters.find_clusters(columns, units)
    needs = {unit.need for unit in units if unit.need}
    return Group(
        name=name,
        units=tuple(units),
        numbers=tuple(_summary(column) for column in columns),
        # Limits hold for one designation: class and closure change them.
        tolerances=tuple(against_tolerance(needs.pop(), columns)) if len(needs) == 1 else (),
        outliers=tuple(apart),
        tests=tests,
        clusters=tuple(found),
        tested=tuple(tested),
        mixed=tuple(find_mixed(units)),
        not_compared=tuple(_not_compared(units, columns, tested)),
    )


def _summary(column: Column) -> NumberSummary:
    known = column.u[~np.isnan(column.u)]
    if column.values is not column.raw:
        known = (column.u * column.raw)[~np.isnan(column.u)]
    return NumberSummary(
        feature=column.feature,
        count=len(column.units),
        middle=float(np.median(column.raw)),
        spread=spread(column.raw),
        lowest=float(column.raw.min()),
        highest=float(column.raw.max()),
        u=float(np.median(known)) if len(known) else None,
    )


def _not_compared(units: Sequence[Unit], columns: Sequence[Column], tested: Sequence[Tested]) -> list[str]:
    count = len(units)
    if count < outliers.FEWEST_UNITS:
        return [f"{count} of a kind: which one stands apart can be said from {outliers.FEWEST_UNITS} on."]
    notes = []
    if count < clusters.FEWEST_UNITS:
        notes.append(f"{count} of a kind: groups are looked for from {clusters.FEWEST_UNITS} on.")
    elif not any(each.block == "marks" for each in tested):
        notes.append("Marks were read on too few units to compare how they were made.")
    measured = {column.feature for column in columns}
    absent = [name for feature, name in _USUALLY_MEASURED.items() if feature not in measured]
    if absent:
        notes.append(f"Not measured with an instrument, or on too few units: {', '.join(absent)}.")
    return notes


_USUALLY_MEASURED = {"bore_mm": "bore", "od_mm": "outside diameter", "width_mm": "width", "mass_g": "mass"}
