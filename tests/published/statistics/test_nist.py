"""Least squares against certified values of the Statistical Reference Datasets; see CITATION.md."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from conewise.proof.regression import Design, fit

HERE = Path(__file__).parent


def table(name):
    return np.loadtxt(HERE / f"{name}.csv", delimiter=",", skiprows=1)


def errors_of(found):
    """Standard errors of the coefficients."""
    n_columns = found.coefficients.shape[1]
    return np.array([found.coefficient(column).scale[0] for column in range(n_columns)])


def test_norris():
    y, x = table("norris").T
    found = fit(Design(response=y, columns=np.column_stack([np.ones_like(x), x])))
    assert found.coefficients[0] == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-11)
    assert errors_of(found) == pytest.approx([0.232818234301152, 0.429796848199937e-03], rel=1e-11)
    assert np.sqrt(found.variance[0]) == pytest.approx(0.884796396144373, rel=1e-12)
    assert found.freedom == 34


def test_longley():
    rows = table("longley")
    found = fit(Design(response=rows[:, 0], columns=np.column_stack([np.ones(16), rows[:, 1:]])))
    expected = [
        -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359,
        -0.0511041056535807, 1829.15146461355,
    ]  # fmt: skip
    errors = [
        890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.226073200069370,
        455.478499142212,
    ]  # fmt: skip
    assert found.coefficients[0] == pytest.approx(expected, rel=1e-8)  # the columns are nearly dependent: 5e9
    assert errors_of(found) == pytest.approx(errors, rel=1e-8)
    assert np.sqrt(found.variance[0]) == pytest.approx(304.854073561965, rel=1e-11)


def test_filip():
    y, x = table("filip").T
    found = fit(Design(response=y, columns=x[:, None] ** np.arange(11)))
    expected = [
        -1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349,
        -75.1242017393757, -10.8753180355343, -1.06221498588947, -0.670191154593408e-01, -0.246781078275479e-02,
        -0.402962525080404e-04,
    ]  # fmt: skip
    assert found.coefficients[0] == pytest.approx(expected, rel=1e-6)  # condition 2e15: about 7 digits can be had
    assert errors_of(found)[0] == pytest.approx(298.084530995537, rel=1e-6)
    assert np.sqrt(found.variance[0]) == pytest.approx(0.334801051324544e-02, rel=1e-8)


# sum of squares between, within, F statistic, residual standard deviation, relative tolerance (constant leading digits)
ANALYSES = {
    "sirstv": (5.11462616000000e-02, 2.16636560000000e-01, 1.18046237440255, 1.04076068334656e-01, 1e-12),
    "smls04": (1.68, 1.80, 21.0, 0.1, 1e-8),
    "atmwtag": (3.63834187500000e-09, 1.04951729166667e-08, 15.9467335677930, 1.51048314446410e-05, 1e-7),
}


@pytest.mark.parametrize("name", ANALYSES)
def test_analysis_of_variance(name):
    between, within, ratio, deviation, tolerance = ANALYSES[name]
    treatment, response = table(name).T
    # differences of treatments are columns beside the level of all rows; without them the mean alone is left
    others = (treatment[:, None] == np.unique(treatment)[1:]).astype(float)
    one = np.zeros(response.size, dtype=np.intp)
    full = fit(Design(response=response, columns=others, group=one))
    plain = fit(Design(response=response, columns=np.ones((response.size, 1))))
    inner = full.variance[0] * full.freedom
    explained = plain.variance[0] * plain.freedom - inner
    assert inner == pytest.approx(within, rel=tolerance)
    assert explained == pytest.approx(between, rel=10 * tolerance)  # a difference of two sums
    assert explained / others.shape[1] / full.variance[0] == pytest.approx(ratio, rel=10 * tolerance)
    assert np.sqrt(full.variance[0]) == pytest.approx(deviation, rel=tolerance)


@pytest.mark.parametrize("name", ANALYSES)
def test_levels_of_groups_leave_what_is_within(name):
    _, within, _, _, tolerance = ANALYSES[name]
    treatment, response = table(name).T
    group = np.unique(treatment, return_inverse=True)[1]
    rows = np.arange(response.size, dtype=float)
    found = fit(Design(response=response, columns=(rows % 2)[:, None], group=group))
    # one more column explains a part of it, exactly that of a regression within groups
    inner = rows % 2 - (np.bincount(group, rows % 2) / np.bincount(group))[group]
    slope = np.sum(inner * (response - response.mean())) / np.sum(inner**2)
    assert found.coefficients[0, 0] == pytest.approx(slope, rel=1e-3, abs=1e-9)  # of few leading digits
    left = found.variance[0] * found.freedom + slope**2 * np.sum(inner**2)
    assert left == pytest.approx(within, rel=100 * tolerance)  # two roundings of 9 equal leading digits
