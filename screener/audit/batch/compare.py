"""All units of a batch together: every comparison, for each group of like units."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
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
from screener.audit.batch.unit import Unit, block_of
from screener.parts import explain

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
    ordered: float | None = None
    """Nominal value of what was ordered, where its designation says one."""

    @property
    def differs(self) -> bool:
        """Whether the units as a whole lie off what was ordered, by more than one unit's uncertainty (k = 2).

        The uncertainty is not divided by the number of units: what an instrument or a camera errs by is common to all.
        """
        return self.ordered is not None and self.u is not None and abs(self.middle - self.ordered) > 2 * self.u


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
    kind: str = ""
    """What was ordered, whoever supplied it."""


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
    groups: defaultdict[tuple[str, str], list[Unit]] = defaultdict(list)
    for unit in everything:
        # Two suppliers are two sources: what differs between them is no mixture within a batch.
        groups[unit.group, unit.supplier].append(unit)
    sources = Counter(kind for kind, _ in groups)
    return BatchComparison(
        groups=tuple(
            _group(f"{kind} from {supplier or 'nobody named'}" if sources[kind] > 1 else kind, kind, members)
            for (kind, supplier), members in groups.items()
        ),
        repeated_serials=tuple(duplicates.repeated_serials(everything)),
        repeated_photos=tuple(duplicates.repeated_photos(everything)),
        serial_runs=tuple(duplicates.serial_runs(everything)),
    )


def _group(name: str, kind: str, units: Sequence[Unit]) -> Group:
    columns = columns_of(units, FEWEST_UNITS)
    apart, tests = outliers.find_outliers(columns)
    found, tested = clusters.find_clusters(columns, units)
    needs = {unit.need for unit in units if unit.need}
    nominal = _nominal(min(needs, default=""))
    return Group(
        name=name,
        units=tuple(units),
        numbers=tuple(_summary(column, nominal) for column in columns),
        # Limits hold for one designation: class and closure change them.
        tolerances=tuple(against_tolerance(needs.pop(), columns)) if len(needs) == 1 else (),
        outliers=tuple(apart),
        tests=tests,
        clusters=tuple(found),
        tested=tuple(tested),
        mixed=tuple(find_mixed(units)),
        not_compared=tuple(_not_compared(units, columns, tested)),
        kind=kind,
    )


def _nominal(need: str) -> dict[str, float]:
    """Return what a designation says of the numbers; all units of a group were ordered as one size."""
    part = explain(need)
    if not part.understood or part.kind != "bearing" or part.bore_mm is None or part.od_mm is None:
        # A shaft seal is made larger than its housing and tighter than its shaft: its own size is not in its name.
        return {}
    sizes = {"bore_mm": part.bore_mm, "od_mm": part.od_mm, "photo.bore_mm": part.bore_mm, "photo.od_mm": part.od_mm}
    width = {} if part.width_mm is None else {"width_mm": part.width_mm}
    return {**sizes, **width, "photo.bore_to_od": part.bore_mm / part.od_mm}


def _summary(column: Column, nominal: Mapping[str, float]) -> NumberSummary:
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
        ordered=nominal.get(column.feature),
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
    notes += _colours_not_compared(units, measured)
    absent = [name for feature, name in _USUALLY_MEASURED.items() if feature not in measured]
    if absent:
        notes.append(f"Not measured with an instrument, or on too few units: {', '.join(absent)}.")
    return notes


def _colours_not_compared(units: Sequence[Unit], measured: Collection[str]) -> list[str]:
    why = Counter(unit.no_colours for unit in units if unit.no_colours)
    said = [f"{reason} ({count} of {len(units)} units)" for reason, count in why.most_common()]
    if said:
        return [f"Colours of labels could not be told on some units: {'; '.join(said)}."]
    return [] if any(block_of(each) == "label colours" for each in measured) else ["Colours of labels: none was told."]


_USUALLY_MEASURED = {"bore_mm": "bore", "od_mm": "outside diameter", "width_mm": "width", "mass_g": "mass"}
