"""Count groups in many batches made by chance: ``python tests/audit/batch/measure_clusters.py [--batches 200]``.

Clean batches of 60 units that are split (bar: fewer than 5 %); batches with 6 units of another process in which it is
found (bar: 9 of 10), a clear one and a milder one; batches with two such minorities, both found; and batches that are
split further than they were made (bar: fewer than 5 %). Found: all but one of the units at least, and one foreign unit
at most, in one group.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from audit.batch.making import MILDER_PROCESS, OTHER_PROCESS, THIRD_PROCESS, mixed_batch
from audit.batch.test_clusters import clusters_in, holds

SIX, MILD, THIRD = (6, OTHER_PROCESS), (6, MILDER_PROCESS), (6, THIRD_PROCESS)
SCENES = {
    "clean": [],
    "6 of another process": [SIX],
    "6 of a milder one": [MILD],
    "24 of another process": [(24, OTHER_PROCESS)],
    "6 and 6 of two processes": [SIX, THIRD],
    "12 and 6 of two processes": [(12, OTHER_PROCESS), THIRD],
}


def counted(minorities: list, batches: int, seed: int) -> str:
    """How many batches had every planted group found, and how many were split further than they were made."""
    rng = np.random.default_rng(seed)
    ends = np.cumsum([count for count, _ in minorities]).tolist()
    places = [range(start, end) for start, end in zip([0, *ends], ends, strict=False)]
    found = further = 0
    for _ in range(batches):
        groups = clusters_in(mixed_batch(60, minorities, rng))
        found += all(any(holds(group, planted) for group in groups) for planted in places)
        further += len(groups) > len(minorities)
    return f"all found in {found}, split further in {further} of {batches}"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=200)
    parser.add_argument("--seed", type=int, default=2025)
    given = parser.parse_args()
    for title, minorities in SCENES.items():
        sys.stdout.write(f"{title}: {counted(minorities, given.batches, given.seed)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
