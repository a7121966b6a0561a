from __future__ import annotations

import pytest
from scipy import stats

from screener.audit.plans.accept_zero import units_of_percent, zero_plan_by_aql, zero_plan_by_limit
from screener.audit.plans.single import single_plan
from screener.errors import WrongUsage


@pytest.mark.parametrize("lot", [8, 20, 51, 100, 333, 1200, 35_000])
@pytest.mark.parametrize("percent", [1.0, 2.5, 5.0, 10.0, 25.0])
@pytest.mark.parametrize("risk", [0.05, 0.10])
def test_the_sample_is_the_smallest_that_keeps_the_risk(lot, percent, risk) -> None:
    plan = zero_plan_by_limit(lot, percent, risk)
    at = stats.hypergeom.pmf(0, lot, plan.bad_units, plan.sample_units)
    before = stats.hypergeom.pmf(0, lot, plan.bad_units, plan.sample_units - 1)
    assert at <= risk + 1e-12
    assert before > risk - 1e-12
    assert (plan.accept, plan.reject) == (0, 1)


@pytest.mark.parametrize(
    ("percent", "risk", "sample"), [(10, 0.10, 22), (10, 0.05, 29), (5, 0.10, 45), (5, 0.05, 59), (1, 0.05, 299)]
)
def test_very_large_lots_need_the_well_known_numbers(percent, risk, sample) -> None:
    # "Rule of 59": n = ln(risk) / ln(1 - p) (success-run formula, common practice).
    assert zero_plan_by_limit(5_000_000, percent, risk).sample_units == sample


@pytest.mark.parametrize(("lot", "percent", "units"), [(20, 5, 1), (21, 5, 2), (100, 29, 29), (7, 1, 1), (300, 5, 15)])
def test_a_limit_is_the_first_number_of_units_that_reaches_it(lot, percent, units) -> None:
    assert units_of_percent(lot, percent) == units


@pytest.mark.parametrize(("lot", "aql"), [(300, "1.0"), (1200, "2.5"), (150, "4.0"), (90, "0.65")])
def test_by_aql_it_protects_as_well_as_the_table(lot, aql) -> None:
    table, zero = single_plan(lot, aql), zero_plan_by_aql(lot, aql)
    bad = zero.bad_units
    assert stats.hypergeom.cdf(table.accept, lot, bad, table.sample_units) <= 0.10
    assert stats.hypergeom.cdf(table.accept, lot, bad - 1, table.sample_units) > 0.10
    assert stats.hypergeom.pmf(0, lot, bad, zero.sample_units) <= 0.10
    assert zero.sample_units <= table.sample_units


def test_a_lot_of_one_is_looked_at() -> None:
    assert zero_plan_by_limit(1, 10).whole_lot


@pytest.mark.parametrize(("percent", "risk"), [(0, 0.1), (-1, 0.1), (101, 0.1), (float("nan"), 0.1), (5, 0), (5, 1)])
def test_limits_without_sense_are_refused(percent, risk) -> None:
    with pytest.raises(WrongUsage):
        zero_plan_by_limit(100, percent, risk)


def test_counts_per_hundred_have_no_zero_plan() -> None:
    with pytest.raises(WrongUsage, match="per 100"):
        zero_plan_by_aql(100, "15")
