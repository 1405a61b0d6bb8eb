"""Steady gains of the filter's compiled steps against published ones (CITATION.md)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solve_discrete_are

from conewise.logs.kalman import GAIN, NOISE, ROOM, ROW, TABLE_WIDTH, WIDTH, predict, update

INDICES = [0.01, 0.1, 1.0]


def kalata(index):
    r = (4.0 + index - np.sqrt(8.0 * index + index**2)) / 4.0
    alpha = 1.0 - r**2
    return alpha, 2.0 * (2.0 - alpha) - 4.0 * np.sqrt(1.0 - alpha)


def steady(block, added, row, noise):
    """Gain and variances, predicted and filtered, after so many steps that they stay."""
    n = len(added)
    covariance, table, room = np.zeros((n, WIDTH)), np.zeros((1, TABLE_WIDTH)), np.zeros((ROOM, WIDTH))
    covariance[:, :n], table[0, ROW : ROW + n], table[0, NOISE] = np.eye(n) * 1e4, row, noise
    for _ in range(4000):
        predict(covariance, np.asarray(block), np.zeros(0), np.asarray(added), room)
        predicted = covariance[0, 0]
        update(np.array([0]), 1, np.zeros(WIDTH), covariance, table, room)
    return table[0, GAIN : GAIN + n], predicted, covariance[0, 0]


@pytest.mark.parametrize(("index", "alpha", "beta"), [(0.01, 0.131851, 0.009317), (0.1, 0.36, 0.08), (1.0, 0.75, 0.5)])
def test_the_gains_of_an_alpha_beta_filter(index, alpha, beta):
    assert kalata(index) == pytest.approx((alpha, beta), abs=1e-6)
    # position, speed, and the acceleration that is drawn anew at every step of 1 s
    block = [[1.0, 1.0, 0.5], [0.0, 1.0, 1.0], [0.0, 0.0, 0.0]]
    gain, _, _ = steady(block, [0.0, 0.0, index**2], [1.0, 0.0, 0.0], 1.0)
    assert gain[:2] == pytest.approx((alpha, beta), abs=1e-6)


@pytest.mark.parametrize("index", INDICES)
def test_the_published_gains_solve_the_riccati_equation(index):
    """F P F' + Q less what a reading takes away: solved by scipy for the dual regulator."""
    f, push, h = np.array([[1.0, 1.0], [0.0, 1.0]]), np.array([[0.5], [1.0]]), np.array([[1.0, 0.0]])
    predicted = solve_discrete_are(f.T, h.T, index**2 * push @ push.T, np.eye(1))
    gain = predicted @ h.T / (predicted[0, 0] + 1.0)
    assert gain[:, 0] == pytest.approx(kalata(index), rel=1e-6)  # what the solver's residual leaves


def test_a_random_walk_settles_at_the_root_of_its_riccati_equation():
    gain, predicted, filtered = steady([[1.0]], [1469.1], [1.0], 15099.0)
    assert predicted == pytest.approx(5501.258, abs=1e-3)
    assert filtered == pytest.approx(4032.158, abs=1e-3)
    assert gain[0] == pytest.approx(0.26705, abs=1e-5)
