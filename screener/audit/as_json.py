"""An audit for other programs: the contract ``screener.audit/1``. Fields may be added, never renamed.

Units are named by their number in the record.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from screener.audit.batch.capability import AgainstTolerance
from screener.audit.batch.clusters import Cluster
from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.mixed import Mixed
from screener.audit.batch.outliers import Outlier
from screener.audit.batch.unit import Unit
from screener.audit.lots import Delivery, Lot

SCHEMA = "screener.audit/1"

Json = dict[str, Any]


def audit_as_json(batch: BatchComparison, delivery: Delivery) -> Json:
    """Return the whole audit as one JSON object. ``lot`` sums up, ``lots`` holds the answer for each."""
    return {
        "schema": SCHEMA,
        "lot": asdict(delivery.judged),
        "says": delivery.says,
        "lots": [_lot(each) for each in delivery.lots],
        "groups": [_group(each) for each in batch.groups],
        "repeated_serials": [asdict(each) for each in batch.repeated_serials],
        "repeated_photos": [asdict(each) for each in batch.repeated_photos],
        "serial_runs": [asdict(each) for each in batch.serial_runs],
        "units": [unit_as_json(each) for each in batch.units],
    }


def unit_as_json(unit: Unit) -> Json:
    """Return one unit: what it is, how it was judged, and its numbers and words."""
    return {
        "record": unit.record,
        "run": unit.run,
        "item": unit.key,
        "group": unit.group,
        "supplier": unit.supplier,
        "disposition": unit.disposition,
        "exit": unit.exit,
        "suspicion": unit.suspicion,
        "looked_at": unit.looked_at,
        "reason": unit.reason,
        "decided": unit.decided,
        "own_answer": unit.own_answer,
        "outcome": unit.outcome,
        "findings": [{"code": code, "weight": weight, "says": says} for code, weight, says in unit.findings],
        "numbers": {name: asdict(number) for name, number in unit.numbers.items()},
        "words": dict(unit.words),
        "serials": [serial for serial, _ in unit.serials],
        "photos": [asdict(photo) for photo in unit.photos],
    }


def _lot(lot: Lot) -> Json:
    return {
        "name": lot.name,
        "supplier": lot.supplier,
        "units": [unit.record for unit in lot.units],
        "answer": asdict(lot.judged),
        "note": lot.note,
    }


def _group(group: Group) -> Json:
    return {
        "group": group.name,
        "units": _records(group, range(len(group.units))),
        "numbers": [asdict(each) for each in group.numbers],
        "tolerances": [_tolerance(each, group) for each in group.tolerances],
        "outliers": [_outlier(each, group) for each in group.outliers],
        "tests": group.tests,
        "clusters": [_cluster(each, group) for each in group.clusters],
        "tested_for_clusters": [asdict(each) for each in group.tested],
        "mixed": [_mixed(each, group) for each in group.mixed],
        "not_compared": list(group.not_compared),
    }


def _records(group: Group, places: Sequence[int]) -> list[int]:
    return [group.units[place].record for place in places]


def _tolerance(judged: AgainstTolerance, group: Group) -> Json:
    return {
        **asdict(judged),
        "conforms": _records(group, judged.conforms),
        "differs": _records(group, judged.differs),
        "open": _records(group, judged.open),
    }


def _outlier(outlier: Outlier, group: Group) -> Json:
    return {**asdict(outlier), "unit": group.units[outlier.unit].record}


def _cluster(cluster: Cluster, group: Group) -> Json:
    return {**asdict(cluster), "units": _records(group, cluster.units)}


def _mixed(mixed: Mixed, group: Group) -> Json:
    values = [{"value": each.value, "units": _records(group, each.units)} for each in mixed.values]
    return {"name": mixed.name, "kind": mixed.kind, "says": mixed.says, "values": values, "not_read": mixed.not_read}
