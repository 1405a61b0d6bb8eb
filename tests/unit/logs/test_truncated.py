"""Draws from a cut normal distribution, against SciPy's truncated normal and against plain rejection."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import truncnorm

from conewise.logs.truncated import draw_truncated


@pytest.mark.parametrize("room", [-1.0, 0.0, 2.0])
def test_one_wall_is_the_truncated_normal(rng, room):
    draws = draw_truncated(np.ones((1, 1)), np.array([room]), doubt=1e-3, rng=rng, count=1500)[:, 0]
    exact = truncnorm(room, np.inf)
    assert draws.mean() == pytest.approx(exact.mean(), abs=4.0 * exact.std() / np.sqrt(1500))
    assert draws.std() == pytest.approx(exact.std(), rel=0.15)  # four deviations of 1500 draws with some skew
    assert draws.min() > room - 0.01


def test_a_corner_is_what_rejection_leaves(rng):
    walls, room, doubt = np.array([[1.0, 0.5], [-0.3, 1.0]]), np.array([0.3, 0.2]), 0.2
    draws = draw_truncated(walls, room, doubt=doubt, rng=rng, count=1500)
    z = rng.standard_normal((200_000, 2))
    kept = z[np.all(z @ walls.T + doubt * rng.standard_normal(z.shape) >= room, axis=1)]
    assert draws.mean(axis=0) == pytest.approx(kept.mean(axis=0), abs=0.07)  # four deviations: 0.65 / sqrt(1500)
    assert np.cov(draws.T) == pytest.approx(np.cov(kept.T), abs=0.07)
    assert abs(np.corrcoef(draws[1:, 0], draws[:-1, 0])[0, 1]) < 0.12


def test_without_walls_nothing_is_cut(rng):
    draws = draw_truncated(np.zeros((0, 3)), np.zeros(0), doubt=0.1, rng=rng, count=4000)
    assert np.cov(draws.T) == pytest.approx(np.eye(3), abs=0.1)  # four deviations
