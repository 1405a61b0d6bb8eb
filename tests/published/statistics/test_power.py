"""Power of the t test and exact intervals against published tables; see CITATION.md."""

from __future__ import annotations

import pytest
from scipy import stats

from conewise.proof.cones import share_of
from conewise.proof.power import least_noncentrality, t_power

# Cohen 1988, table 2.4: runs in each of two groups for power 0.80 at two-sided 0.05, by d
COHEN = {0.2: 393, 0.5: 64, 0.8: 26, 1.0: 17}


@pytest.mark.parametrize(("size", "n_runs"), COHEN.items())
def test_runs_needed_as_in_the_table(size, n_runs):
    def power(n):
        return t_power(size * (n / 2) ** 0.5, 2 * n - 2, certainty=0.95)

    assert power(n_runs) >= 0.80 - 0.001  # the table rounds: d = 0.2 needs 393.4
    assert power(n_runs - 2) < 0.80


def test_power_as_documented_for_r():
    # R leaves the other tail out by default, here 2e-7
    assert t_power(1.0 * (20 / 2) ** 0.5, 38, certainty=0.95) == pytest.approx(0.8689528, abs=3e-7)


@pytest.mark.parametrize("freedom", [2, 5, 40])
@pytest.mark.parametrize("certainty", [0.9, 0.95])
def test_power_as_the_noncentral_t(freedom, certainty):
    critical = stats.t.ppf(0.5 + certainty / 2, freedom)
    expected = stats.nct.sf(critical, freedom, 1.7) + stats.nct.cdf(-critical, freedom, 1.7)
    assert t_power(1.7, freedom, certainty=certainty) == pytest.approx(expected, rel=1e-9)
    least = least_noncentrality(freedom, power=0.8, certainty=certainty)
    assert t_power(least, freedom, certainty=certainty) == pytest.approx(0.8, abs=1e-9)


@pytest.mark.parametrize(("hits", "runs"), [(0, 10), (3, 10), (10, 10), (1, 40)])
def test_exact_interval_of_a_share(hits, runs):
    low, high = stats.binomtest(hits, runs).proportion_ci(0.95, method="exact")
    found = share_of(hits, runs, 0.95)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)


def test_no_hit_in_ten():
    assert share_of(0, 10, 0.95).high == pytest.approx(1.0 - 0.025 ** (1 / 10), rel=1e-9)
