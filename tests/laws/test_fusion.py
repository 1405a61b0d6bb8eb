"""Standard deviations are honest: on logs simulated from a transient solution, with noise that the model is told.

Errors of one log hang together over its whole length, so each instant is judged over seeds: the sum of normalised
squared errors over n seeds is chi-square with n times as many degrees of freedom. Innovations are independent, so that
all of a log count.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from scipy.stats import chi2

from conewise.logs import motion as m
from conewise.logs.simulated import SensorNoise, motion_of
from conewise.solver.solution import transient_solution
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.known_motions import errors, fused_log, position_bound, position_nees
from tests.solved import short_run, solved

N_SEEDS = 12
SURE = 1e-3  # chance that a bound is broken by luck, shared by the checks of one test
CASES = {
    "10 Hz and inertial": SensorNoise(),
    "10 Hz and inertial, slow": SensorNoise(correlation_time=20.0),
    "25 Hz and inertial": SensorNoise(receiver_rate=25.0),
    "10 Hz without speeds and inertial": SensorNoise(received_speed=None),
    "1 Hz and inertial": SensorNoise(receiver_rate=1.0),
    "10 Hz and shaken inertial": SensorNoise(acceleration=1.5, rate=0.03),
    "10 Hz alone": SensorNoise(inertial_rate=0.0, delay=0.0),
    "1 Hz alone": SensorNoise(inertial_rate=0.0, delay=0.0, receiver_rate=1.0),
    "1 Hz alone, without speeds": SensorNoise(inertial_rate=0.0, delay=0.0, receiver_rate=1.0, received_speed=None),
    "car and 10 Hz": SensorNoise(inertial_rate=0.0, vehicle_rate=50.0),
}
QUANTITIES = ["speed", "heading", "yaw_rate", "lateral_acceleration"]
# Least mean square of errors over deviations: sparse positions are believed to turn as in a quick slalom, not as here.
ALONE = {"10 Hz alone": 0.3, "1 Hz alone": 0.3, "1 Hz alone, without speeds": 0.15}
INERTIAL = [name for name, noise in CASES.items() if noise.inertial_rate and "shaken" not in name]


@lru_cache(maxsize=1)
def known():
    return motion_of(transient_solution(short_run(), car="light rear-drive", gradients=()))


@lru_cache(maxsize=len(CASES))
def fused_cases(name):
    return [fused_log(known(), seed, CASES[name]) for seed in range(N_SEEDS)]


def bounds(freedom, n_checks):
    """Two-sided chi-square bounds of a mean of squares with unit expectation."""
    chance = SURE / (2.0 * n_checks)
    return chi2.ppf(chance, freedom) / freedom, chi2.ppf(1.0 - chance, freedom) / freedom


def driven(case):
    """Instants of the run, 2 s apart."""
    moving = np.flatnonzero(np.interp(case.track.time, known().time, known().speed) > 3.0)
    return moving[::100]


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_position_errors_are_as_large_as_their_covariance_says(name):
    cases = fused_cases(name)
    at = driven(cases[0])
    nees = np.mean([position_nees(known(), case.track)[at] for case in cases], axis=0) / 2.0
    low, high = bounds(2 * N_SEEDS, at.size)
    assert np.all((nees > low) & (nees < high)), nees


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in CASES if name not in ALONE])
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_other_errors_are_no_larger_than_their_deviations_say(name, quantity):
    cases = fused_cases(name)
    at = driven(cases[0])
    ratio = [(errors(known(), c.track)[quantity] / getattr(c.track, f"{quantity}_deviation"))[at] for c in cases]
    _, high = bounds(N_SEEDS, at.size)
    assert np.all(np.mean(np.square(ratio), axis=0) < high)


@pytest.mark.slow
@pytest.mark.parametrize("name", ALONE)
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_a_motion_that_is_guessed_errs_by_about_what_its_deviations_say(name, quantity):
    """Over a run. It errs at the same instants in every log, where the car does more or less than cars mostly do."""
    squares = []
    for case in fused_cases(name):
        moving = np.flatnonzero(np.interp(case.track.time, known().time, known().speed) > 1.0)
        ratio = errors(known(), case.track)[quantity] / getattr(case.track, f"{quantity}_deviation")
        squares.append(np.mean(ratio[moving] ** 2))
    assert ALONE[name] < np.mean(squares) < 1.5, np.mean(squares)


@pytest.mark.slow
@pytest.mark.parametrize("name", INERTIAL)
@pytest.mark.parametrize("quantity", ["yaw_rate", "longitudinal_acceleration", "lateral_acceleration"])
def test_what_rests_on_sensors_alone_errs_by_what_its_deviations_say(name, quantity):
    """Neither less nor more. Their noise has no memory beyond the next step, so that instants 0.2 s apart all count."""
    squares = []
    for case in fused_cases(name):
        moving = np.flatnonzero(~case.prepared.rest)[::10]
        ratio = errors(known(), case.track)[quantity] / getattr(case.track, f"{quantity}_deviation")
        squares.append(ratio[moving] ** 2)
    squares = np.concatenate(squares)
    low, high = bounds(squares.size, 1)
    assert low < np.mean(squares) < high


@lru_cache(maxsize=1)
def held_out():
    """A motion that no belief was taken from: another random course, and the quickest demo car."""
    run = solved(club_course(31, length=300.0), DEMO_NAMES[1])
    return motion_of(transient_solution(run, car="all-wheel-drive", gradients=()))


@pytest.mark.slow
@pytest.mark.parametrize("motion", [known, held_out])
@pytest.mark.parametrize("rate", [10.0, 20.0, 50.0, 100.0])
def test_channels_of_the_car_are_as_good_as_said_at_any_rate(motion, rate):
    """Yaw rate and lateral acceleration, over a run; nor are they late: samples that come at the begin of a step count
    there, and neighbouring readings share no noise. How the car moves between them is found in the log."""
    truth, noise = motion(), SensorNoise(inertial_rate=0.0, vehicle_rate=rate)
    ratios, off, change = {"yaw_rate": [], "lateral_acceleration": []}, [], []
    for seed in range(N_SEEDS // 2):
        track = fused_log(truth, 100 + seed, noise).track
        moving = np.interp(track.time, truth.time, truth.speed) > 1.0
        wrong = errors(truth, track)
        for quantity, squares in ratios.items():
            squares.append((wrong[quantity] / getattr(track, f"{quantity}_deviation"))[moving] ** 2)
        off.append(wrong["yaw_rate"][moving])
        change.append(np.gradient(np.interp(track.time, truth.time, truth.yaw_rate), track.time)[moving])
    for quantity, squares in ratios.items():
        assert 0.65 < np.mean(squares) < 1.3, quantity
    late = -np.sum(np.concatenate(off) * np.concatenate(change)) / np.sum(np.square(np.concatenate(change)))
    assert abs(late) < 2e-3  # of 20 ms


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_innovations_of_the_receiver_are_as_large_as_their_variance_says(name):
    """Without inertial sensors, and against wheels that may slip, the motion is predicted more widely than it comes."""
    kinds = {"position": (m.AT_X, m.AT_Y), "speed": (m.EAST_SPEED, m.NORTH_SPEED)}
    for told in kinds.values():
        if not np.isin(fused_cases(name)[0].prepared.problem.kind, told).any():
            continue
        squares = []
        for case in fused_cases(name):
            use = np.isin(case.prepared.problem.kind, told) & (case.smoothed.filtered.spread > 0.0)
            squares.append(case.smoothed.filtered.innovation[use] ** 2 / case.smoothed.filtered.spread[use])
        squares = np.concatenate(squares)
        low, high = bounds(squares.size, 2)
        assert np.mean(squares) < high
        if name in INERTIAL and CASES[name].receiver_rate > 1.0:
            assert np.mean(squares) > low


@pytest.mark.slow
@pytest.mark.parametrize("name", [*INERTIAL, "10 Hz and shaken inertial"])
@pytest.mark.parametrize("channel", ["SENSOR_X", "SENSOR_Y", "SENSOR_RATE"])
def test_innovations_of_inertial_sensors_are_as_large_as_their_variance_says(name, channel):
    """Of each channel, while the car moves and while it stands; 3% more for noise that is found from the log itself."""
    squares = {"moving": [], "at rest": []}
    for case in fused_cases(name):
        problem, filtered = case.prepared.problem, case.smoothed.filtered
        step = np.searchsorted(problem.first, np.arange(problem.kind.size), side="right") - 1
        is_channel, rest = problem.kind == getattr(m, channel), case.prepared.rest[step]
        for part, use in (("moving", is_channel & ~rest), ("at rest", is_channel & rest)):
            squares[part].append(filtered.innovation[use] ** 2 / filtered.spread[use])
    for part, every in squares.items():
        low, high = bounds(np.concatenate(every).size, 2)
        assert low - 0.03 < np.mean(np.concatenate(every)) < high + 0.03, part


@pytest.mark.slow
@pytest.mark.parametrize("name", INERTIAL)
def test_errors_come_near_the_cramer_rao_bound(name):
    """Within the chi-square bound of a mean over seeds of a square of two degrees of freedom, and 1.2 besides."""
    cases = fused_cases(name)
    square = np.mean([errors(known(), c.track)[axis] ** 2 for c in cases for axis in "xy"]) * 2.0
    bound = np.mean([position_bound(known(), c) ** 2 for c in cases])
    _, high = bounds(2 * N_SEEDS, 1)
    assert square < high * bound
    assert square > 0.2 * bound  # no estimate is better than the bound but by luck


@pytest.mark.slow
def test_less_noise_makes_smaller_deviations():
    loud = fused_log(known(), 0, CASES["10 Hz and inertial"]).track
    still = fused_log(known(), 0, replace(CASES["10 Hz and inertial"], slow_position=0.1, white_position=0.02)).track
    assert np.all(still.position_covariance[:, 0, 0] < loud.position_covariance[:, 0, 0])
