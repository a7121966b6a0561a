from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from screener.audit.plans.chances import at_most_in_lot, at_most_of_process, at_most_per_unit, none_in_lot
from screener.audit.plans.oc import (
    Rule,
    chance_of_seeing,
    curve,
    model_for,
    outgoing_limit,
    share_at,
    units_for_seeing,
)
from screener.specs.sampling import SEVERITIES, Numbers, plan_rows

ALL_PLANS = sorted(
    {
        (row.sample_units, accept)
        for severity in SEVERITIES
        for row in plan_rows(severity)
        for cell in row.cells.values()
        if isinstance(cell, Numbers)
        for accept in (cell.accept, cell.reject - 1)
    }
)


def test_all_plans_binomial_against_scipy() -> None:
    shares = (0.0001, 0.001, 0.01, 0.05, 0.1, 0.4)
    assert len(ALL_PLANS) > 150
    for sample, accept in ALL_PLANS:
        ours = [at_most_of_process(accept, sample, share) for share in shares]
        assert ours == pytest.approx(list(stats.binom.cdf(accept, sample, shares)), rel=1e-9, abs=1e-14)


def test_all_plans_poisson_against_scipy() -> None:
    rates = (0.001, 0.01, 0.1, 0.65, 1.5, 4.0, 10.0)
    for sample, accept in ALL_PLANS:
        ours = [at_most_per_unit(accept, sample, rate) for rate in rates]
        theirs = stats.poisson.cdf(accept, sample * np.array(rates))
        assert ours == pytest.approx(list(theirs), rel=1e-9, abs=1e-14)


def test_all_plans_hypergeometric_against_scipy() -> None:
    for sample, accept in ALL_PLANS:
        for lot in (sample + 1, 2 * sample + 7, 9 * sample):
            bad = sorted({0, 1, round(0.01 * lot), round(0.05 * lot), round(0.2 * lot), lot})
            ours = [at_most_in_lot(accept, lot, each, sample) for each in bad]
            theirs = stats.hypergeom.cdf(accept, lot, bad, sample)
            assert ours == pytest.approx(list(theirs), rel=1e-7, abs=1e-12), (lot, sample, accept)


def test_outside_binomial_values(standards) -> None:
    rows = standards("oc_curve_binomial_values.csv")
    for row in rows:
        ours = at_most_of_process(int(row["Ac"]), int(row["n"]), float(row["p_nonconforming"]))
        assert ours == pytest.approx(float(row["P_accept"]), abs=6e-7), row


def test_outside_hypergeometric_values(standards) -> None:
    for row in standards("oc_curve_hypergeometric_values.csv"):
        numbers = (row["Ac"], row["lot_N"], row["defectives_in_lot_D"], row["n"])
        assert at_most_in_lot(*map(int, numbers)) == pytest.approx(float(row["P_accept"]), abs=6e-7), row


@pytest.mark.parametrize(("share", "chance"), [(0.01, 0.9862), (0.05, 0.5405), (0.10, 0.1117)])
def test_textbook_plan(share, chance) -> None:
    # The usual textbook example n 50, c 2 (common practice; the values are quoted to four digits).
    assert at_most_of_process(2, 50, share) == pytest.approx(chance, abs=5e-5)


def test_published_container_plan() -> None:
    # 7 CFR 42.140 (d), (e): 500 containers, accept 3: at 1.0 defects per hundred 26 percent of lots are accepted.
    assert round(at_most_of_process(3, 500, 0.01) * 100) == 26


@pytest.mark.parametrize(
    ("accept", "p95", "p50", "p10"), [(0, 0.0641, 0.863, 2.84), (1, 0.446, 2.09, 4.78), (2, 1.03, 3.33, 6.52)]
)
def test_tabulated_points_of_letter_j(accept, p95, p50, p10) -> None:
    # MIL-STD-105E, table X-J-1 (tabulated values for n 80, percent), from memory.
    rule = Rule(10**6, 80, accept, "binomial")
    found = [share_at(rule, chance).share * 100 for chance in (0.95, 0.50, 0.10)]
    assert found == pytest.approx([p95, p50, p10], rel=0.005)


@pytest.mark.parametrize(("accept", "limit"), [(0, 0.46), (1, 1.1), (2, 1.7), (3, 2.4), (5, 4.0)])
def test_tabulated_outgoing_limit_of_letter_j(accept, limit) -> None:
    # MIL-STD-105E, table V-A (AOQL factors for n 80, percent, lot much larger than sample; two digits), from memory.
    assert outgoing_limit(Rule(10**8, 80, accept, "poisson")).chance * 100 == pytest.approx(limit, abs=0.06)


@pytest.mark.parametrize(("lot", "sample", "accept"), [(60, 13, 0), (120, 20, 1), (300, 50, 2), (90, 20, 3)])
def test_outgoing_quality_by_its_definition(lot, sample, accept) -> None:
    # AOQ: nonconforming units left in the lot, over all samples that accept it (scipy's hypergeometric).
    left = []
    for bad in range(lot + 1):
        found = np.arange(accept + 1)
        left.append(float(np.sum(stats.hypergeom.pmf(found, lot, bad, sample) * (bad - found))) / lot)
    rule = Rule(lot, sample, accept, "hypergeometric")
    for bad in (0, 1, 2, 5, lot // 2, lot):
        assert rule.outgoing(bad / lot) == pytest.approx(left[bad], abs=1e-10)
    assert outgoing_limit(rule).chance == pytest.approx(max(left), abs=1e-10)


def test_outgoing_limit_of_a_process_by_a_fine_row_of_points() -> None:
    shares = np.linspace(0, 0.2, 200_001)
    left = shares * stats.binom.cdf(2, 80, shares) * (1 - 80 / 1200)
    assert outgoing_limit(Rule(1200, 80, 2, "binomial")).chance == pytest.approx(float(left.max()), rel=1e-7)


@given(st.integers(1, 400), st.data())
def test_exact_chances_keep_the_laws(lot, data) -> None:
    bad = data.draw(st.integers(0, lot))
    sample = data.draw(st.integers(1, lot))
    accept = data.draw(st.integers(0, 6))
    chance = at_most_in_lot(accept, lot, bad, sample)
    assert 0.0 <= chance <= 1.0
    assert chance <= at_most_in_lot(accept + 1, lot, bad, sample) + 1e-12
    if bad < lot:
        assert at_most_in_lot(accept, lot, bad + 1, sample) <= chance + 1e-12
    # Drawing bad units out of the lot or drawing the sample out of the bad units is the same table of four.
    assert chance == pytest.approx(at_most_in_lot(accept, lot, sample, bad), abs=1e-12)


def test_none_seen_agrees_with_scipy_for_large_lots() -> None:
    for lot, bad, sample in (
        (500_000, 25, 1250),
        (500_000, 2500, 1250),
        (10_000_000, 3, 200),
        (100, 100, 1),
        (7, 0, 7),
    ):
        assert none_in_lot(lot, bad, sample) == pytest.approx(float(stats.hypergeom.pmf(0, lot, bad, sample)), rel=1e-7)


def test_units_for_seeing_is_the_smallest_that_does() -> None:
    for lot, bad in ((50, 5), (200, 1), (1200, 12), (5, 5)):
        found = units_for_seeing(lot, bad, 0.95)
        theirs = [1 - stats.hypergeom.pmf(0, lot, bad, sample) for sample in range(lot + 1)]
        assert found == next(n for n, chance in enumerate(theirs) if chance >= 0.95 - 1e-12)
        assert chance_of_seeing(lot, bad, found) == pytest.approx(theirs[found])


@pytest.mark.parametrize(
    ("lot", "sample", "per_100", "model"),
    [(1200, 80, False, "binomial"), (799, 80, False, "hypergeometric"), (800, 80, False, "binomial")],
)
def test_small_lots_are_counted_exactly(lot, sample, per_100, model) -> None:
    # Common practice: from ten times the sample on, what is drawn hardly changes the rest.
    assert model_for(lot, sample, per_100=per_100) == model
    assert model_for(lot, sample, per_100=True) == "poisson"


def test_the_curve_falls_from_one() -> None:
    for rule in (Rule(120, 20, 1, "hypergeometric"), Rule(1200, 80, 2, "binomial"), Rule(300, 20, 21, "poisson")):
        points = curve(rule)
        chances = [each.chance for each in points]
        assert chances[0] == 1.0
        assert all(a >= b - 1e-12 for a, b in itertools.pairwise(chances))
        assert chances[-1] <= 0.0011
        assert all(math.isfinite(each.share) for each in points)


def test_average_number_looked_at_by_simulation() -> None:
    # ATI: the sample, or the whole lot where it is not accepted. Seeded; 4 standard errors.
    rule = Rule(200, 32, 1, "hypergeometric")
    drawn = np.random.default_rng(5).hypergeometric(6, 194, 32, 40_000)
    looked = np.where(drawn <= 1, 32, 200)
    assert rule.looked_at(0.03) == pytest.approx(looked.mean(), abs=4 * looked.std() / 200)
