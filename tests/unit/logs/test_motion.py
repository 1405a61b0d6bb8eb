"""The model of the filter: every derivative against differences, every step against the closed form of its motion."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.logs import motion as m

READ = {
    name: getattr(m, name)
    for name in [
        "AT_X",
        "AT_Y",
        "EAST_SPEED",
        "NORTH_SPEED",
        "SPEED",
        "SENSOR_X",
        "SENSOR_Y",
        "SENSOR_RATE",
        "WHEEL",
        "STEER",
        "CAR_LONGITUDINAL",
        "CAR_LATERAL",
        "CAR_RATE",
        "STANDING_FORWARD",
        "STANDING_SIDEWAYS",
        "STANDING_RATE",
        "STANDING_FORWARD_CHANGE",
        "STANDING_SIDEWAYS_CHANGE",
    ]
}
N = m.N_MOVING + m.N_DECAYING
PLACES = m.N_MOVING + np.arange(m.N_DECAYING)
KEPT = np.array([0.98, 0.97, 0.9])
TOLD = (0.013, 0.7, -2.1)


def some_state():
    state = np.append(np.random.default_rng(1).normal(0.0, 0.05, N), 0.0)
    state[: m.N_MOVING] = 12.0, -7.0, 0.8, 14.0, 0.6, 0.5, -3.0, 1.2
    return state


@pytest.mark.parametrize("kind", READ)
def test_the_derivatives_of_a_reading_are_those_of_differences(kind):
    state, row, spare = some_state(), np.zeros(N + 1), np.zeros(N + 1)
    m.expected(READ[kind], state, TOLD, PLACES, row)
    step = 1e-6
    for i in range(N):
        off = np.zeros(N + 1)
        off[i] = step
        ahead = m.expected(READ[kind], state + off, TOLD, PLACES, spare)
        behind = m.expected(READ[kind], state - off, TOLD, PLACES, spare)
        # 2e-6 of rounding; the way within a step is a chord, which ends a little short: 1e-5 of the speed
        assert row[i] == pytest.approx((ahead - behind) / (2.0 * step), abs=2e-6, rel=1e-5), i


def test_the_derivatives_of_a_step_are_those_of_differences():
    block, spare = np.zeros((m.N_MOVING, m.N_MOVING)), np.zeros((m.N_MOVING, m.N_MOVING))
    m.advance(some_state(), 0.02, KEPT, block)
    step = 1e-6
    for i in range(m.N_MOVING):
        ahead, behind = some_state(), some_state()
        ahead[i] += step
        behind[i] -= step
        m.advance(ahead, 0.02, KEPT, spare)
        m.advance(behind, 0.02, KEPT, spare)
        assert (ahead - behind)[: m.N_MOVING] / (2.0 * step) == pytest.approx(block[:, i], abs=1e-8)


def test_steady_turning_is_a_circle():
    """A quarter of a circle of 20 m at 10 m/s."""
    state, block = np.zeros(m.N_MOVING + 1), np.zeros((m.N_MOVING, m.N_MOVING))
    state[m.FORWARD], state[m.YAW_RATE] = 10.0, 0.5
    n_steps = 157
    for _ in range(n_steps):
        m.advance(state, 0.02, np.ones(3), block)
    angle = 0.5 * 0.02 * n_steps
    # a chord is shorter than its arc by (turn of a step)^2 / 24 = 4e-6 of 31 m
    assert state[: m.YAW + 1] == pytest.approx([20.0 * np.sin(angle), 20.0 * (1.0 - np.cos(angle)), angle], abs=2e-4)


def test_a_car_that_turns_steadily_feels_speed_times_yaw_rate():
    state, row = np.zeros(N + 1), np.zeros(N + 1)
    state[m.FORWARD], state[m.YAW_RATE] = 10.0, 0.5
    assert m.expected(m.CAR_LATERAL, state, TOLD, PLACES, row) == pytest.approx(5.0)
    assert m.expected(m.SENSOR_Y, state, TOLD, PLACES, row) == pytest.approx(5.0)


def test_a_state_that_a_log_does_not_have_changes_nothing():
    state, row = np.zeros(m.N_MOVING + 1), np.zeros(m.N_MOVING + 1)
    state[m.FORWARD] = 10.0
    nowhere = np.full(m.N_DECAYING, m.N_MOVING)
    assert m.expected(m.WHEEL, state, (0.0, 0.0, 0.0), nowhere, row) == pytest.approx(10.0)
    assert m.expected(m.EAST_SPEED, state, (0.0, 0.0, 0.0), nowhere, row) == pytest.approx(10.0)
