"""Label colours between units: a planted colour is named, what a lamp leaves is not, and what had no white is said.

How much a colour varies from photo to photo is that of `measure_label_colours.py`.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from audit.batch.making import unit
from skimage.color import deltaE_ciede2000

from screener.audit.batch.colour_difference import ciede2000
from screener.audit.batch.compare import Group, compare_batch
from screener.audit.batch.features import unit_of
from screener.audit.batch.unit import Number, Unit

PAIRS = Path(__file__).parents[4] / "shared" / "standards" / "ciede2000_sharma_pairs.csv"
# G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005) 21-30, table 1: pairs 1, 13 to 16 and 25.
PUBLISHED = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
    ((50.0, -0.001, 2.49), (50.0, 0.001, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.0011, -2.49), 4.7461),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
]
AXES = ("green_red", "blue_yellow", "lightness")
USUAL = {"print": ((10.1, -35.7, 27.7), (0.4, 0.7, 0.8), 2.1), "ink": ((0.4, -1.4, 14.0), (0.4, 1.4, 1.5), 2.9)}
"""a*, b*, L* of a blue band and black ink; their spreads between photos; the reader's uncertainty."""


@pytest.mark.parametrize(("one", "two", "published"), PUBLISHED)
def test_ciede2000_gives_the_published_values(one, two, published) -> None:
    assert ciede2000(one, two) == pytest.approx(published, abs=1e-4)


def test_ciede2000_is_that_of_scikit_image() -> None:
    rng = np.random.default_rng(3)
    one, two = rng.uniform((0, -90, -90), (100, 90, 90), (2, 300, 3))
    mine = [ciede2000(tuple(a), tuple(b)) for a, b in zip(one, two, strict=True)]
    assert mine == pytest.approx(deltaE_ciede2000(one, two), abs=1e-9)
    assert ciede2000((50.0, 0.0, 0.0), (50.0, 0.0, 0.0)) == 0


@pytest.mark.skipif(not PAIRS.exists(), reason="the table of pairs does not lie beside the checkout")
def test_ciede2000_gives_all_published_pairs() -> None:
    rows = list(csv.DictReader(PAIRS.open(encoding="utf-8")))
    for row in rows:
        one, two = (tuple(float(row[f"{axis}{n}"]) for axis in "Lab") for n in (1, 2))
        assert ciede2000(one, two) == pytest.approx(float(row["dE00"]), abs=1e-4), row["pair"]
    assert len(rows) >= 30


def labelled(size: int, planted: int, shift: tuple[float, float, float], seed: int) -> list[Unit]:
    """Units whose first have their band in another colour."""
    rng = np.random.default_rng(seed)
    units = []
    for number in range(size):
        numbers = {}
        for what, (middle, spreads, u) in USUAL.items():
            values = np.array(middle) + np.array(spreads) * rng.standard_t(6, 3)
            values += np.array(shift) * (what == "print" and number < planted)
            numbers |= {f"colour.{what}.{axis}": Number(float(v), u) for axis, v in zip(AXES, values, strict=True)}
        units.append(unit(number, numbers, disposition="accept", exit="use"))
    return units


def compared(*arguments: object) -> Group:
    (group,) = compare_batch(labelled(*arguments)).groups  # type: ignore[arg-type]
    return group


def test_a_planted_colour_is_named() -> None:
    """A band of another blue, CIEDE2000 8 from the usual one."""
    shift = (-4.0, 16.0, 3.0)
    assert deltaE_ciede2000([27.7, 10.1, -35.7], [30.7, 6.1, -19.7]) == pytest.approx(8, abs=0.1)
    assert {each.unit for each in compared(60, 1, shift, 1).outliers} == {0}
    group = compared(60, 6, shift, 2)
    assert [set(each.units) for each in group.clusters] == [set(range(6))]
    (cluster,) = group.clusters
    assert cluster.block == "label colours"
    assert "6 of 60 units differ in label colours: printed areas of the label, blue to yellow (b*) -19." in cluster.says


def test_what_no_eye_would_see_is_not_named_however_sure() -> None:
    """CIEDE2000 1.5: plain to the arithmetic over sixty units, but no more than another exposure makes."""
    group = compared(60, 20, (0.0, -3.5, 0.0), 3)
    assert deltaE_ciede2000([27.7, 10.1, -35.7], [27.7, 10.1, -39.2]) < 2
    assert (group.outliers, group.clusters) == ((), ())


def test_clean_batches_stay_whole() -> None:
    groups = [compared(40, 0, (0.0, 0.0, 0.0), seed) for seed in range(100, 110)]
    assert sum(bool(group.clusters or group.outliers) for group in groups) <= 1


def test_what_could_not_be_told_is_said() -> None:
    stored = {"record": 1, "run": 1, "item": "1", "requirement": "6205"}
    colour = {"lightness": 28.0, "green_red": 10.0, "blue_yellow": -35.0, "u": 2.0}
    told = unit_of(stored, [{"label": {"colours": {"white": "label", "print": colour}}}])
    by_card = unit_of(stored, [{"label": {"colours": {"white": "card", "print": colour}}}])
    assert told.numbers["colour.print.lightness"] == Number(28.0, 2.0)
    assert set(by_card.numbers) == {f"colour.print_by_card.{axis}" for axis in AXES}, "another white is another scale"
    none = unit_of(stored, [{"label": {"colours": {"white": None, "problem": "no white paper"}}}])
    older = unit_of(stored, [{"label": {"lines": []}}])
    assert (none.no_colours, older.no_colours) == ("no white paper", "read by an earlier version that took no colours")
    (group,) = compare_batch([*labelled(20, 0, (0, 0, 0), 1), none, none, older]).groups
    notes = " ".join(group.not_compared)
    assert "no white paper (2 of " in notes
    (bare,) = compare_batch([unit(n) for n in range(12)]).groups
    assert "Colours of labels: none was told." in bare.not_compared
