"""Groups within a batch: planted ones are found, clean batches stay whole.

The bars are the customer's: a planted minority of 10 % of 60 units found in 9 of 10 batches, false groups in fewer than
5 % of clean ones. The long count is `measure_clusters.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from audit.batch.making import OTHER_PROCESS, THIRD_PROCESS, batch, mixed_batch, unit

from screener.audit.batch.clusters import Cluster, find_clusters
from screener.audit.batch.columns import columns_of
from screener.audit.batch.unit import Number, Unit


def clusters_in(units: list[Unit]) -> list[Cluster]:
    return find_clusters(columns_of(units, 3), units)[0]


def holds(found: Cluster, planted: Sequence[int]) -> bool:
    """Nearly all of the planted units, and nearly nobody else."""
    inside = set(found.units)
    near = len(inside & set(planted)) >= len(planted) - 1 and len(inside - set(planted)) <= 1
    return found.block == "marks" and near


def is_found(units: list[Unit], planted: Sequence[int]) -> bool:
    return any(holds(found, planted) for found in clusters_in(units))


def test_a_planted_minority_is_found_in_nine_of_ten_batches() -> None:
    rng = np.random.default_rng(20251125)
    assert sum(is_found(batch(60, 6, rng), range(6)) for _ in range(20)) >= 18


def test_clean_batches_stay_whole() -> None:
    rng = np.random.default_rng(7)
    assert sum(bool(clusters_in(batch(60, 0, rng))) for _ in range(40)) < 2


@pytest.mark.parametrize("size", [13, 25])
def test_clean_batches_of_other_sizes_stay_whole(size: int) -> None:
    rng = np.random.default_rng(size)
    assert sum(bool(clusters_in(batch(size, 0, rng))) for _ in range(20)) <= 2


def test_half_and_half_is_found_and_says_which_batch_goes_with_it() -> None:
    units = batch(40, 16, np.random.default_rng(3))
    found = clusters_in(units)[0]
    assert set(found.units) == set(range(16))
    assert [(each.name, each.value) for each in found.coincides] == [("batch on the box", "B")]
    assert found.differs[0].feature in {"mark.stroke", "mark.pitch"}


def test_a_large_batch_is_sampled_and_every_unit_assigned() -> None:
    units = batch(900, 120, np.random.default_rng(4))
    found = clusters_in(units)[0]
    assert len(set(found.units) ^ set(range(120))) <= 15


def test_a_third_process_is_told_from_the_second() -> None:
    """Two minorities of 8 in 60, both found in 2 of 3 batches; how often in many is counted by `measure_clusters`."""
    rng = np.random.default_rng(33)
    batches = [mixed_batch(60, [(8, OTHER_PROCESS), (8, THIRD_PROCESS)], rng) for _ in range(3)]
    split = [clusters_in(units) for units in batches]
    planted = (range(8), range(8, 16))
    both = [found for found in split if all(any(holds(each, units) for each in found) for units in planted)]
    assert len(both) >= 2
    assert {each.coincides[0].value for each in both[0]} == {"B", "C"}
    assert all(" from the largest group of 4" in each.says for each in both[0])


def test_one_minority_is_not_split_into_two() -> None:
    rng = np.random.default_rng(32)
    assert sum(len(clusters_in(batch(60, 18, rng))) > 1 for _ in range(4)) <= 1


def test_the_same_units_give_the_same_answer() -> None:
    units = batch(60, 6, np.random.default_rng(11))
    assert clusters_in(units) == clusters_in(units)


def test_steps_of_a_coarse_instrument_are_no_groups() -> None:
    rng = np.random.default_rng(5)
    coarse = [
        unit(
            n,
            {
                "width_mm": Number(round(15 + rng.normal(0, 0.006), 2)),
                "od_mm": Number(round(52 + rng.normal(0, 0.006), 2)),
            },
        )
        for n in range(60)
    ]
    assert clusters_in(coarse) == []


def test_few_units_and_equal_values_are_left_alone() -> None:
    assert clusters_in(batch(8, 3, np.random.default_rng(1))) == []
    assert clusters_in([unit(n, {"mark.height": Number(0.07), "mark.pitch": Number(0.05)}) for n in range(30)]) == []
    assert clusters_in([]) == []
