"""The regression of a proof beside a general library for statistics."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from conewise.proof.regression import Design, fit
from conewise.proof.robust import robust_fit


@pytest.fixture
def rows(rng):
    x = np.column_stack([np.ones(40), rng.normal(size=(40, 2))])
    return x, x @ [1.0, 2.0, 3.0] + rng.normal(size=40)


def test_ordinary_and_weighted_least_squares(rows, rng):
    x, y = rows
    weight = rng.uniform(0.3, 3.0, 40)
    for own, other in (
        (fit(Design(response=y, columns=x)), sm.OLS(y, x).fit()),
        (fit(Design(response=y, columns=x, weight=weight)), sm.WLS(y, x, weights=weight).fit()),
    ):
        assert own.coefficients[0] == pytest.approx(other.params, rel=1e-10)
        assert own.variance[0] == pytest.approx(other.scale, rel=1e-10)
        for column in range(3):
            assert own.coefficient(column).interval(0.9) == pytest.approx(other.conf_int(0.1)[column], rel=1e-8)


def test_huber_regression_at_the_same_scale(rows):
    x, y = rows
    y = y + np.where(np.arange(40) % 13 == 3, 9.0, 0.0)
    own = robust_fit(Design(response=y, columns=x))
    other = sm.RLM(y, x, M=sm.robust.norms.HuberT(1.345)).fit(
        scale_est=lambda *_, **__: own.spread, maxiter=500, tol=1e-12, cov="H1"
    )
    assert own.fit.coefficients[0] == pytest.approx(other.params, abs=1e-5)
    errors = [own.fit.coefficient(column).scale[0] for column in range(3)]
    assert errors == pytest.approx(other.bse, rel=1e-4)  # stopped at 1e-7 of the scatter


def test_mixed_model_by_restricted_likelihood(rng):
    group = np.repeat(np.arange(12), 5)
    x = rng.normal(size=60)
    y = 0.5 * x + rng.normal(0.0, 0.8, 12)[group] * x + rng.normal(size=60) + 0.3 * group
    grid = np.linspace(0.0, 2.5, 2501)[:, None]
    own = fit(Design(response=y, columns=x[:, None], group=group, varying=x[:, None]), grid)
    best = int(own.weight.argmax())
    levels = (group[:, None] == np.arange(12)).astype(float)
    other = sm.MixedLM(y, np.column_stack([x, levels]), groups=group, exog_re=x[:, None]).fit(reml=True)
    assert grid[best, 0] == pytest.approx(np.sqrt(other.cov_re[0, 0] / other.scale), abs=2e-3)  # steps of 0.001
    assert own.coefficients[best, 0] == pytest.approx(other.params[0], abs=1e-4)
    assert own.variance[best] == pytest.approx(other.scale, rel=1e-3)
    assert own.combination(np.ones(1)).scale[best] == pytest.approx(other.bse[0], rel=2e-3)
