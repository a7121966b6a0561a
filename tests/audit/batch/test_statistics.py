"""The statistics of a batch against scipy and against the published values named beside each."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from screener.audit.batch.capability import capability
from screener.audit.batch.distributions import beta_cdf, chi_square_quantile, fisher_two_sided, gamma_cdf, t_two_sided
from screener.audit.batch.multiple import benjamini_hochberg, holm
from screener.audit.batch.robust import mad, qn

shares = st.lists(st.floats(0, 1), min_size=1, max_size=40)
values = st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=60)


@given(st.floats(0, 40), st.floats(1, 400))
def test_student_t_is_that_of_scipy(t: float, freedom: float) -> None:
    assert t_two_sided(t, freedom) == pytest.approx(2 * stats.t.sf(t, freedom), rel=1e-8, abs=1e-7)


@given(st.floats(0.001, 0.999), st.integers(1, 400))
def test_chi_square_quantile_is_that_of_scipy(share: float, freedom: int) -> None:
    assert chi_square_quantile(share, freedom) == pytest.approx(stats.chi2.ppf(share, freedom), rel=1e-8)


@given(st.floats(0, 1), st.floats(0.5, 50), st.floats(0.5, 50))
def test_beta_and_gamma_are_those_of_scipy(x: float, a: float, b: float) -> None:
    assert beta_cdf(x, a, b) == pytest.approx(stats.beta.cdf(x, a, b), rel=1e-8, abs=1e-14)
    assert gamma_cdf(50 * x, a) == pytest.approx(stats.gamma.cdf(50 * x, a), rel=1e-8, abs=1e-14)


@given(*(st.integers(0, 12) for _ in range(4)))
def test_fisher_is_that_of_scipy(a: int, b: int, c: int, d: int) -> None:
    if a + b and c + d and a + c and b + d:
        assert fisher_two_sided(a, b, c, d) == pytest.approx(stats.fisher_exact([[a, b], [c, d]])[1], rel=1e-6)


@given(shares)
def test_benjamini_hochberg_is_that_of_scipy(p_values: list[float]) -> None:
    assert benjamini_hochberg(p_values) == pytest.approx(list(stats.false_discovery_control(p_values)), abs=1e-12)


def test_holm_on_its_worked_example() -> None:
    # Hand: 0.01*4, 0.02*3 -> 0.06, 0.03*2 -> 0.06, 0.04 -> at least the one before.
    assert holm([0.01, 0.04, 0.03, 0.02]) == pytest.approx([0.04, 0.06, 0.06, 0.06])


@given(values)
def test_mad_is_that_of_scipy(numbers: list[float]) -> None:
    array = np.array(numbers)
    assert mad(array) == pytest.approx(stats.median_abs_deviation(array, scale="normal"), rel=1e-9, abs=1e-12)


@settings(max_examples=60)
@given(values)
def test_qn_is_the_order_statistic_of_all_pairs(numbers: list[float]) -> None:
    # The definition: Rousseeuw and Croux 1993, the (h over 2)-th smallest distance, h = n // 2 + 1; without factors.
    array = np.sort(np.array(numbers))
    n = len(array)
    pairs = np.sort([abs(b - a) for i, a in enumerate(array) for b in array[i + 1 :]])
    h = n // 2 + 1
    bare = pairs[h * (h - 1) // 2 - 1]
    small = {2: 0.399, 3: 0.994, 4: 0.512, 5: 0.844, 6: 0.611, 7: 0.857, 8: 0.669, 9: 0.872}
    factor = small.get(n) or (n / (n + 1.4) if n % 2 else n / (n + 3.8))
    assert qn(array) == pytest.approx(2.21914 * factor * bare, rel=1e-6, abs=1e-9)


def test_qn_estimates_the_standard_deviation_and_resists_bad_units() -> None:
    rng = np.random.default_rng(1)
    assert np.mean([qn(rng.normal(0, 2, 15)) for _ in range(400)]) == pytest.approx(2, rel=0.05)
    spoilt = rng.normal(0, 1, 100)
    spoilt[:30] += 1000
    assert qn(spoilt) < 4


def test_capability_on_simulated_processes_covers() -> None:
    """The 95 % intervals hold the true Cp and Cpk in 95 % of samples (their definition)."""
    rng = np.random.default_rng(2)
    lower, upper, mean, sd = -12.0, 0.0, -5.0, 1.6
    cp, cpk = (upper - lower) / (6 * sd), min(upper - mean, mean - lower) / (3 * sd)
    found = [capability(rng.normal(mean, sd, 30).tolist(), lower, upper) for _ in range(1000)]
    assert 0.93 <= np.mean([each.cp_low <= cp <= each.cp_high for each in found]) <= 0.97
    assert 0.92 <= np.mean([each.cpk_low <= cpk <= each.cpk_high for each in found]) <= 0.98


def test_capability_on_a_printed_example() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 7.1.6/6.1.6:
    # USL 20, LSL 8, mean 16, s 2 gives Cp 1.0, Cpk 0.6667.
    base = np.array([-1.0, 1.0] * 20)
    scaled = 16 + 2 * base / np.std(base, ddof=1)
    found = capability(scaled.tolist(), 8, 20)
    assert (found.cp, found.cpk) == (pytest.approx(1.0), pytest.approx(0.66667, abs=1e-4))
