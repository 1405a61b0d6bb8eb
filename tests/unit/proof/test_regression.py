"""The regression's own refusals, and robust pieces."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.proof.mixture import TMixture
from conewise.proof.regression import DependentColumnsError, Design, TooFewRowsError, fit
from conewise.proof.robust import robust_fit, scatter


def test_dependent_columns_are_named():
    x = np.arange(6.0)
    with pytest.raises(DependentColumnsError) as caught:
        fit(Design(response=x, columns=np.column_stack([x, 2.0 * x])))
    assert caught.value.column == 1


def test_more_coefficients_than_rows():
    with pytest.raises(TooFewRowsError):
        fit(Design(response=np.arange(2.0), columns=np.eye(2)))


def test_pull_is_the_change_of_the_coefficients(rng):
    group = np.repeat(np.arange(5), 4)
    x, y = rng.normal(size=20), rng.normal(size=20)
    weight = rng.uniform(0.5, 2.0, 20)
    spread = np.array([[0.7]])
    design = Design(response=y, columns=x[:, None], group=group, varying=x[:, None], weight=weight)
    found = fit(design, spread)
    assert found.pull @ y == pytest.approx(found.coefficients[0], rel=1e-9)


def test_levels_take_the_weighted_mean_off(rng):
    group = np.repeat(np.arange(3), 6)
    x, y = rng.normal(size=18), rng.normal(size=18)
    weight = rng.uniform(0.5, 2.0, 18)
    levels = (group[:, None] == np.arange(3)).astype(float)
    with_levels = fit(Design(response=y, columns=x[:, None], group=group, weight=weight))
    with_columns = fit(Design(response=y, columns=np.column_stack([levels, x]), weight=weight))
    assert with_levels.coefficients[0, 0] == pytest.approx(with_columns.coefficients[0, 3], rel=1e-10)
    assert with_levels.variance == pytest.approx(with_columns.variance, rel=1e-10)


def test_an_infinite_tuning_is_least_squares(rng):
    x, y = rng.normal(size=(15, 2)), rng.normal(size=15)
    design = Design(response=y, columns=x)
    assert robust_fit(design, tuning=np.inf).fit.coefficients == pytest.approx(fit(design).coefficients)


def test_scatter_of_normal_numbers(rng):
    assert scatter(rng.normal(0.0, 2.0, 20000), 20000) == pytest.approx(2.0, rel=0.05)  # 1% of a median of 20,000


def test_quantiles_turn_back_into_probabilities(rng):
    weight = rng.uniform(size=6)
    mixture = TMixture(
        weight=weight / weight.sum(), mean=rng.normal(size=6), scale=rng.uniform(0.1, 2.0, 6), freedom=np.full(6, 4.0)
    )
    for probability in (0.01, 0.3, 0.95):
        assert mixture.probability_below(mixture.quantile(probability)) == pytest.approx(probability, abs=1e-9)
