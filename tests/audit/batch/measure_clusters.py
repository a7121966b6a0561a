"""Count groups in many batches made by chance: ``python tests/audit/batch/measure_clusters.py [--batches 200]``.

Clean batches of 60 units that are split (bar: fewer than 5 %), and batches with 6 units of another process in which it
is found, five of the six at least and one foreign unit at most (bar: 9 of 10).
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from audit.batch.making import batch
from audit.batch.test_clusters import clusters_in, is_found


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=200)
    parser.add_argument("--seed", type=int, default=2025)
    given = parser.parse_args()
    rng = np.random.default_rng(given.seed)
    split = sum(bool(clusters_in(batch(60, 0, rng))) for _ in range(given.batches))
    found = sum(is_found(batch(60, 6, rng), 6) for _ in range(given.batches))
    sys.stdout.write(f"clean batches split: {split} of {given.batches}\n")
    sys.stdout.write(f"planted process found: {found} of {given.batches}\n")


if __name__ == "__main__":
    main()
