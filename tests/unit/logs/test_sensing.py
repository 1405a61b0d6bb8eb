"""What is made of the channels before the filter sees them: mounting, steps, noise, rests, delays."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from conewise.logs.log import Channel, Log
from conewise.logs.mounting import level_axes, mounting_match, turned
from conewise.logs.receiver import delay_against, receiver_of
from conewise.logs.sensors import Stepped, Steps, _squared_weights, at_rest, running_mean, stepped, taken, white_noise

STEPS = Steps(0.0, 0.02, 500)


def log_of(**channels):
    return Log(
        file="test",
        channels={k: Channel(k, np.asarray(t, float), np.asarray(v, float), k) for k, (t, v) in channels.items()},
    )


@pytest.mark.parametrize("seed", range(8))
def test_gravity_levels_a_sensor_however_it_lies(seed):
    turn = Rotation.random(rng=np.random.default_rng(seed)).as_matrix()
    axes = level_axes(np.tile(turn @ [0.0, 0.0, 9.80665], (10, 1)))
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert axes[2] == pytest.approx(turn[:, 2])


@pytest.mark.parametrize("angle", [-3.0, -0.4, 0.0, 1.2, 3.1])
def test_the_turn_of_a_sensor_is_found_from_accelerations(angle):
    moved = np.random.default_rng(0).normal(0.0, 3.0, (200, 2))
    felt = turned(moved, -angle)
    assert np.angle(mounting_match(felt, moved)) == pytest.approx(angle)
    assert turned(felt, angle) == pytest.approx(moved)


def test_white_noise_is_told_from_motion():
    t = np.arange(0.0, 30.0, 0.01)
    noise = np.random.default_rng(2).normal(0.0, 0.3, t.size)
    # five standard errors of a median absolute deviation, 1.17 / sqrt(3000) each
    assert white_noise(5.0 * np.sin(3.0 * t) + noise) == pytest.approx(0.3, rel=0.1)
    assert white_noise(np.ones(3)) == 0.0


def test_a_fast_channel_is_averaged_over_steps_without_a_shift():
    t = np.arange(0.0, 10.0, 0.01)
    told = stepped(Channel("x", t, 3.0 * t, "x"), STEPS, least=0.1)
    assert told.value == pytest.approx(3.0 * STEPS.middles[told.at])
    # edges on samples: weights of a quarter, a half, a quarter; a long mean errs as if each mean had two samples alone
    assert told.variance == pytest.approx(0.1**2 * 0.375)
    assert told.shared == pytest.approx(0.1**2 * (0.5 - 0.375))


@pytest.mark.parametrize("rate", [50.0, 83.0, 104.0, 400.0])
def test_the_noise_of_means_over_steps_is_that_of_many_drawn_ones(rate):
    rng = np.random.default_rng(4)
    t = np.arange(0.007, 10.0, 1.0 / rate)
    t += rng.uniform(-0.2, 0.2, t.size) / rate  # a clock that is not even
    drawn = [stepped(Channel("x", t, rng.standard_normal(t.size), "x"), STEPS, least=0.1) for _ in range(600)]
    found = np.var([told.value for told in drawn], axis=0)
    # five standard errors of a variance of 600 draws
    assert found == pytest.approx(_squared_weights(t, STEPS.edges)[drawn[0].at], rel=5.0 * np.sqrt(2.0 / 600))


def test_a_slow_channel_is_taken_as_it_comes():
    t = np.arange(0.013, 10.0, 0.2)
    told = stepped(Channel("x", t, 3.0 * t, "x"), STEPS, least=0.1)
    assert told.at.size == t.size
    assert STEPS.edges[told.at] + told.since == pytest.approx(t)


@pytest.mark.parametrize("rate", [20.0, 50.0, 83.0, 400.0])
def test_samples_of_a_step_are_taken_together_at_their_mean_time(rate):
    """On a straight line the mean is the value at the mean time; no two means share a sample."""
    t = np.arange(0.007, 10.0, 1.0 / rate)
    told = taken(Channel("x", t, 3.0 * t, "x"), STEPS, least=0.1)
    assert told.value == pytest.approx(3.0 * (STEPS.edges[told.at] + told.since))
    assert np.all(np.diff(told.at) > 0)
    assert np.sum(0.1**2 / told.variance) == pytest.approx(t.size)  # every sample counts once
    assert told.shared == 0.0


def test_a_gap_in_a_fast_channel_is_not_filled():
    t = np.arange(0.0, 10.0, 0.01)
    t = t[(t < 4.0) | (t > 6.0)]
    told = stepped(Channel("x", t, np.ones(t.size), "x"), STEPS, least=0.1)
    assert not np.any((STEPS.middles[told.at] > 4.02) & (STEPS.middles[told.at] < 5.98))


def test_a_running_mean_does_not_shift():
    value = np.arange(100.0)
    assert running_mean(value, 0.2)[20:80] == pytest.approx(value[20:80])


def test_repeated_fixes_are_left_out():
    t = np.arange(0.0, 4.0, 0.1)
    frozen = np.where((t > 1.05) & (t < 2.05), 11.0, 10.0 * t)
    receiver, plane = receiver_of(log_of(x=(t, frozen), y=(t, 0.0 * t)), None)
    assert plane is None
    assert receiver.n_repeated == 9  # ten fixes at 11 m, of which the first is one
    assert receiver.time.size == t.size - 9


def test_latitude_and_longitude_come_onto_the_plane():
    t = np.arange(0.0, 2.0, 0.5)
    log = log_of(latitude=(t, 40.0 + 1e-5 * t), longitude=(t, -3.0 + 1e-5 * t))
    receiver, plane = receiver_of(log, None)
    assert plane.anchor.latitude == 40.0
    # metres per degree of the WGS84 ellipsoid at 40 degrees, from its radii of curvature
    assert receiver.y == pytest.approx(111034.633 * 1e-5 * t, abs=1e-5)
    assert receiver.x == pytest.approx(85393.857 * 1e-5 * t, abs=1e-5)


@pytest.mark.parametrize("delay", [-0.1, 0.0, 0.35, 1.1])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_delay_of_a_receiver_is_found_from_turns(delay, sign):
    t = np.arange(0.0, 60.0, 0.02)
    course = np.sin(0.8 * t) + 0.7 * np.sin(0.31 * t)
    told = np.arange(0.5, 60.0, 0.2)
    seen = np.interp(told - delay, t, course)
    speed = np.full(told.size, 10.0)
    receiver, _ = receiver_of(
        log_of(speed=(told, speed + 0.001 * np.arange(told.size)), course=(told, np.pi / 2 - seen)), None
    )
    found, agreement = delay_against(receiver, t, sign * np.gradient(course, t))
    assert found == pytest.approx(delay, abs=0.01)  # half a step between the lags that are tried
    assert sign * agreement > 0.99


@pytest.mark.parametrize("rate", [20.0, 50.0, 100.0])
def test_series_of_a_channel_are_those_of_the_middles_of_steps(rate):
    """A turn that grows evenly: whatever is early or late shows as a difference."""
    t = np.arange(STEPS.start, STEPS.start + STEPS.count * STEPS.step, 1.0 / rate)
    channel = log_of(yaw_rate=(t, 0.3 * t)).channels["yaw_rate"]
    inside = slice(5, -5)
    for at_steps in (taken, stepped):
        series = at_steps(channel, STEPS, least=0.0).everywhere(STEPS.count)
        assert series[inside] == pytest.approx(0.3 * STEPS.middles[inside], abs=1e-9)


def test_rests_are_where_the_receiver_says_so_for_long_enough():
    t = np.arange(0.0, 10.0, 0.1)
    speed = np.where((t > 2.0) & (t < 5.0) | (t > 7.0) & (t < 7.5), 0.1, 8.0)
    receiver, _ = receiver_of(log_of(speed=(t, speed)), None)
    rest = STEPS.middles[at_rest(receiver, None, STEPS, slow=0.4)]
    assert rest.min() == pytest.approx(2.1 + 0.3, abs=0.03)
    assert rest.max() == pytest.approx(4.9 - 0.3, abs=0.03)


def test_wheels_know_best_when_they_stand():
    t = np.arange(0.0, 10.0, 0.1)
    receiver, _ = receiver_of(log_of(speed=(t, 0.0 * t)), None)
    wheel = Stepped(STEPS.at(t), np.zeros(t.size), np.where(t < 5.0, 0.0, 3.0), np.ones(t.size))
    rest = STEPS.middles[at_rest(receiver, wheel, STEPS, slow=0.4)]
    assert rest.max() < 5.0
