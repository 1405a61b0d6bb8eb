"""What a log tells of its sensors: how what they feel wanders, how still the car stands, what smoothing leaves."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from conewise.logs.sensors import Inertial, Stepped
from conewise.logs.wander import LEAST_STILL, MOST_CHANGE, MOST_STILL, beyond_belief, changes_of, stillness_of

N = 4000
NOISE = 0.01, 0.2, 0.2


def inertial(values, noise=NOISE, shared=0.0):
    """Three channels, in the order of yaw rate and the two accelerations, read at every step."""
    at, since = np.arange(values.shape[1]), np.full(values.shape[1], 0.01)
    rate, first, second = (
        Stepped(at, since, value, np.full(at.size, sd**2), shared) for value, sd in zip(values, noise, strict=True)
    )
    return Inertial(first, second, rate, is_levelled=True)


def wandering(changes, *, seed=1):
    rng = np.random.default_rng(seed)
    level = np.cumsum(np.array(changes)[:, None] * rng.standard_normal((3, N)), axis=1)
    return level, level + np.array(NOISE)[:, None] * rng.standard_normal((3, N))


def test_the_wander_of_a_level_is_found():
    changes = 0.02, 0.1, 0.4
    _, read = wandering(changes)
    # of 4000 squares the mean scatters by 2%, and the change by a few times that where the noise is larger
    assert changes_of(inertial(read), np.zeros(N, dtype=bool)) == pytest.approx(changes, rel=0.1)


def test_a_log_without_driving_tells_no_wander():
    assert changes_of(inertial(np.zeros((3, N))), np.ones(N, dtype=bool)) == MOST_CHANGE


def test_how_much_a_standing_car_shakes_is_found():
    rng, shakes = np.random.default_rng(2), (0.003, 0.03, 0.04)
    noise = 0.002, 0.02, 0.02
    read = np.sqrt(np.square(noise) + np.square(shakes))[:, None] * rng.standard_normal((3, N))
    rest = np.ones(N, dtype=bool)
    assert stillness_of(inertial(read, noise), rest) == pytest.approx(shakes, rel=0.05)
    assert stillness_of(inertial(read, noise), ~rest) == MOST_STILL
    assert stillness_of(None, rest) == MOST_STILL


def test_what_may_be_scatter_of_the_noise_is_no_shaking():
    noise = 0.002, 0.02, 0.02
    rest = np.ones(N, dtype=bool)
    found = [
        stillness_of(inertial(np.array(noise)[:, None] * rng.standard_normal((3, N)), noise), rest)
        for rng in map(np.random.default_rng, range(20))
    ]
    still = np.mean(np.array(found) == np.array(LEAST_STILL))
    assert still > 0.85  # 1.5 standard errors: 0.93 for normal scatter


def test_where_the_smoother_knows_better_than_the_channel_it_is_believed():
    """Residuals as large as the noise: nothing was taken from the channel, and nothing is left to correct."""
    noise, told = 0.2, 1e-3
    problem = SimpleNamespace(added=np.full(8, 0.04), step=0.02)
    problem.added[:5] = 0.0
    left = noise * np.random.default_rng(5).standard_normal(N)
    nothing = np.zeros(0), np.zeros(0)
    read = [nothing, (left, np.full(N, noise**2)), nothing]
    believed = noise**2 / np.sqrt(1.0 + 4.0)
    assert abs(beyond_belief(read, problem, np.full(3, told))[1]) < told
    assert beyond_belief(read, problem, np.full(3, believed))[1] == pytest.approx(0.0, abs=0.1 * believed)


def test_rests_that_disagree_are_not_believed_to_be_still():
    """A car that is turned slowly while the receiver takes it for standing."""
    read = 1e-3 * np.random.default_rng(3).standard_normal((3, N))
    read[0, N // 2 :] += 0.02
    assert stillness_of(inertial(read, (1e-3,) * 3), np.ones(N, dtype=bool))[0] == MOST_STILL[0]


@pytest.mark.parametrize("is_smooth", [False, True])
def test_what_smoothing_errs_by_is_found_without_the_belief(is_smooth):
    """A level that wanders errs by what is believed; one that goes in long waves by less, as found."""
    noise, change = 0.2, 0.2
    rng = np.random.default_rng(4)
    level = np.cumsum(change * rng.standard_normal(N))
    if is_smooth:
        level = 5.0 * np.sin(0.02 * np.arange(N))
    read = level + noise * rng.standard_normal(N)
    precision = np.eye(N) / noise**2
    walk = np.diff(np.eye(N), axis=0)
    smoothed = np.linalg.solve(precision + walk.T @ walk / change**2, read / noise**2)
    errs, believed = np.mean((smoothed - level) ** 2), noise**2 / np.sqrt(1.0 + 4.0)
    problem = SimpleNamespace(added=np.zeros(8), step=0.02)
    problem.added[6] = change**2
    nothing = np.zeros(0), np.zeros(0)
    beyond = beyond_belief([nothing, (read - smoothed, np.full(N, noise**2)), nothing], problem, np.full(3, believed))
    assert beyond[0] == beyond[2] == 0.0
    # of 4000 squares of residuals about as large as the noise: 2%
    assert believed + beyond[1] == pytest.approx(errs, abs=0.05 * noise**2)
    assert (errs < 0.9 * believed) == is_smooth
