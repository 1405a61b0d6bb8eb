"""The model of the filter: every derivative against differences, every step against the closed form of its motion."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.logs import motion as m
from conewise.logs.kalman import SEEN
from tests.known_motions import whole

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
SHARES = [m.MOUNTING, m.PITCHING, m.ROLLING]
INERTIAL = [*SHARES, m.BIAS_X, m.BIAS_Y, m.BIAS_RATE]
AIMS = [m.AIM_YAW_RATE, m.AIM_FORWARD_CHANGE, m.AIM_SIDEWAYS_CHANGE]
OTHERS = [state for state in range(m.N_DECAYING) if state not in (*SHARES, *AIMS)]
FELT, CHANGING = np.full(m.N_DECAYING, N), np.full(m.N_DECAYING, N)
FELT[SHARES + OTHERS] = m.N_MOVING + np.arange(len(SHARES + OTHERS))
BARE = AIMS + [state for state in OTHERS if state not in INERTIAL]
CHANGING[BARE] = m.N_MOVING + np.arange(len(BARE))
BOTH = pytest.mark.parametrize("places", [FELT, CHANGING], ids=["felt", "changing"])
KEPT = np.array([0.98, 0.97, 0.9])
TOLD = (0.013, 0.7, -2.1)


def some_state():
    state = np.append(np.random.default_rng(1).normal(0.0, 0.05, N), 0.0)
    state[: m.N_MOVING] = 12.0, -7.0, 0.8, 14.0, 0.6, 0.5, -3.0, 1.2
    return state


@BOTH
@pytest.mark.parametrize("kind", READ)
def test_the_derivatives_of_a_reading_are_those_of_differences(kind, places):
    if kind.startswith("SENSOR") and places is CHANGING:
        pytest.skip("a log with these readings has the states of what is felt")
    state, row, spare = some_state(), np.zeros(N + 1), np.zeros(N + 1)
    m.expected(READ[kind], state, TOLD, places, row)
    step = 1e-6
    for i in range(N):
        off = np.zeros(N + 1)
        off[i] = step
        ahead = m.expected(READ[kind], state + off, TOLD, places, spare)
        behind = m.expected(READ[kind], state - off, TOLD, places, spare)
        # 2e-6 of rounding; the way within a step is a chord, which ends a little short: 1e-5 of the speed
        assert row[i] == pytest.approx((ahead - behind) / (2.0 * step), abs=2e-6, rel=1e-5), i


@BOTH
def test_the_derivatives_of_a_step_are_those_of_differences(places):
    n = m.N_DRIVING
    block, spare = np.zeros((m.N_MOVING, n)), np.zeros((m.N_MOVING, n))
    m.advance(some_state(), 0.02, KEPT, block, places)
    assert not np.tril(block, -2).any()
    step = 1e-6
    for i in range(n):
        ahead, behind = some_state(), some_state()
        ahead[i] += step
        behind[i] -= step
        m.advance(ahead, 0.02, KEPT, spare, places)
        m.advance(behind, 0.02, KEPT, spare, places)
        assert (ahead - behind)[: m.N_MOVING] / (2.0 * step) == pytest.approx(whole(block)[:, i], abs=1e-8)


@BOTH
def test_the_derivatives_of_what_is_seen_are_those_of_differences(places):
    rows, spare, step = np.zeros((SEEN, N + 1)), np.zeros((SEEN, N + 1)), 1e-6
    m.seen(some_state(), places, rows)
    for i in range(N):
        off = np.zeros(N + 1)
        off[i] = step
        ahead = np.array(m.seen(some_state() + off, places, spare))
        behind = np.array(m.seen(some_state() - off, places, spare))
        assert (ahead - behind) / (2.0 * step) == pytest.approx(rows[:, i], abs=1e-8)


@BOTH
def test_the_changes_that_are_seen_are_those_of_a_step(places):
    """To the first order: the mean over the step lies half a step later."""
    state, rows = some_state(), np.zeros((SEEN, N + 1))
    along, across = m.seen(state, places, rows)
    across -= state[m.SIDEWAYS] / m.SIDEWAYS_MEMORY
    moved = state.copy()
    m.advance(moved, 1e-6, np.ones(3), np.zeros((m.N_MOVING, m.N_DRIVING)), places)
    found = (moved - state)[[m.FORWARD, m.SIDEWAYS]] / 1e-6
    assert found == pytest.approx([along, across], abs=1e-4)


@BOTH
def test_a_reading_a_step_later_is_that_of_the_state_a_step_later(places):
    state, row = some_state(), np.zeros(N + 1)
    state[places[[m.DELAY, m.SPEED_DELAY]]] = 0.0
    moved = state.copy()
    m.advance(moved, 0.02, np.ones(3), np.zeros((m.N_MOVING, m.N_DRIVING)), places)
    for kind in (m.AT_X, m.AT_Y, m.EAST_SPEED, m.NORTH_SPEED, m.SPEED, m.WHEEL):
        late = m.expected(kind, state, (0.02, 0.7, 0.0), places, row)
        # the states of changes hold the body's own accelerations over the step: 0.02 s times half a turn of 0.01
        assert late == pytest.approx(m.expected(kind, moved, (0.0, 0.7, 0.0), places, row), abs=1e-3)


@BOTH
def test_steady_turning_is_a_circle(places):
    """A quarter of a circle of 20 m at 10 m/s."""
    state, block = np.zeros(N + 1), np.zeros((m.N_MOVING, m.N_DRIVING))
    state[m.FORWARD], state[m.YAW_RATE] = 10.0, 0.5
    if places is FELT:
        state[m.SIDEWAYS_CHANGE] = 5.0
    n_steps = 157
    for _ in range(n_steps):
        m.advance(state, 0.02, np.ones(3), block, places)
    angle = 0.5 * 0.02 * n_steps
    # a chord is shorter than its arc by (turn of a step)^2 / 24 = 4e-6 of 31 m, a way with the mean of its two
    # velocities by twice that
    assert state[: m.YAW + 1] == pytest.approx([20.0 * np.sin(angle), 20.0 * (1.0 - np.cos(angle)), angle], abs=3e-4)
    if places is FELT:
        assert state[[m.FORWARD, m.SIDEWAYS]] == pytest.approx([10.0, 0.0], abs=1e-3)


def test_a_car_that_turns_steadily_feels_speed_times_yaw_rate():
    state, row = np.zeros(N + 1), np.zeros(N + 1)
    state[m.FORWARD], state[m.YAW_RATE] = 10.0, 0.5
    assert m.expected(m.CAR_LATERAL, state, (0.01, 0.0, 0.0), CHANGING, row) == pytest.approx(5.0)


def test_a_leaning_sensor_feels_more_than_the_car_does():
    state, row = np.zeros(N + 1), np.zeros(N + 1)
    state[m.SIDEWAYS_CHANGE], state[m.ROLL] = 5.0, 0.04
    assert m.expected(m.SENSOR_Y, state, TOLD, FELT, row) == pytest.approx(5.0)
    assert m.expected(m.CAR_LATERAL, state, TOLD, FELT, row) == pytest.approx(4.8)


def test_a_state_that_a_log_does_not_have_changes_nothing():
    state, row = np.zeros(m.N_MOVING + 1), np.zeros(m.N_MOVING + 1)
    state[m.FORWARD] = 10.0
    nowhere = np.full(m.N_DECAYING, m.N_MOVING)
    assert m.expected(m.WHEEL, state, (0.0, 0.0, 0.0), nowhere, row) == pytest.approx(10.0)
    assert m.expected(m.EAST_SPEED, state, (0.0, 0.0, 0.0), nowhere, row) == pytest.approx(10.0)
