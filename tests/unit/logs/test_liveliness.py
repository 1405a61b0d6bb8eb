"""How lively a car is driven is found in a log that has no inertial sensor."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson

from conewise.logs import motion as m
from conewise.logs.fusion import fused, smooth
from conewise.logs.liveliness import _log_probability, liveliness_of
from conewise.logs.moves import AIMS, Moves, moves_of, moving_so
from conewise.logs.passes import filtered_room, forward
from conewise.logs.problem import prepare
from conewise.logs.sensor_model import SensorModel
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from tests.known_motions import told

ALONE = SensorNoise(inertial_rate=0.0, delay=0.0)
CAR = SensorNoise(inertial_rate=0.0, vehicle_rate=50.0)
NOTHING_RESTS = np.zeros(0, dtype=bool)


def weaving(turning, often=0.9):
    """Left and right at 12 m/s with so great a yaw rate, so often [rad/s], off from rest and to a stop."""
    t = np.arange(0.0, 24.0, 0.05)
    speed = 12.0 - 10.0 * np.exp(-t)
    heading = 0.7 + turning / often * np.sin(often * t)
    x, y = (cumulative_simpson(speed * f(heading), x=t, initial=0.0) for f in (np.cos, np.sin))
    return motion_of(SimpleNamespace(elapsed=t, x=x, y=y, heading=heading), standing=4.0)


def found(turning, noise, often=0.9):
    log = simulated_log(weaving(turning, often), rng=np.random.default_rng(3), noise=noise)
    model = told(noise)
    prepared = prepare(log, plane=None, model=model)
    smoothed = smooth(prepared)
    return liveliness_of(prepared, model, path=smoothed.state, restarts=smoothed.restarts), prepared, smoothed


def test_a_car_that_weaves_more_quickly_is_found_to_be_more_lively():
    memories = []
    for often in (0.5, 2.5):
        log = simulated_log(weaving(0.5, often), rng=np.random.default_rng(3), noise=CAR)
        prepared, _ = fused(log, plane=None, model=told(CAR))
        memories.append(-m.STEP / np.log(prepared.problem.kept))
    slow, quick = memories
    assert slow[0] > 1.3 * quick[0]


def test_where_no_channel_reads_it_nothing_is_found():
    assert found(0.3, ALONE)[0] == (1.0, 1.0, 1.0)


def test_what_is_found_makes_the_readings_more_probable():
    liveliness, prepared, smoothed = found(0.3, CAR)
    problem, room = prepared.problem, filtered_room(prepared.problem)
    step = np.searchsorted(problem.first, np.arange(problem.kind.size), side="right") - 1
    driven = (smoothed.state[step, m.FORWARD] > 3.0) & ~prepared.rest[step]

    def probability(liveliness):
        model = replace(SensorModel(), liveliness=liveliness)
        moves = moves_of(None, ["yaw_rate", "lateral_acceleration"], rest=prepared.rest, model=model)
        filtered = forward(moving_so(problem, moves), smoothed.state, smoothed.restarts, room)
        return _log_probability(filtered, problem, driven)

    assert liveliness[0] != 1.0
    assert liveliness[1] == 1.0  # of forward change, which no channel reads
    assert liveliness[2] != 1.0
    assert probability(liveliness) > probability((1.0, 1.0, 1.0)) + 10.0


def test_a_log_is_fused_with_the_liveliness_that_is_found_in_it():
    log = simulated_log(weaving(0.1), rng=np.random.default_rng(3), noise=CAR)
    prepared, _ = fused(log, plane=None, model=told(CAR))
    memory = -m.STEP / np.log(prepared.problem.kept)
    assert memory[0] > 1.3 * m.MEMORIES_UNSEEN[0]
    assert memory[1] == pytest.approx(m.MEMORIES_UNSEEN[1])


def test_what_is_read_is_forgotten_sooner():
    model = SensorModel(liveliness=(1.5, 1.2, 2.0))
    moves = moves_of(None, ["lateral_acceleration"], rest=NOTHING_RESTS, model=model)
    assert moves.sizes == pytest.approx(m.SIZES_UNSEEN)
    assert moves.memories == pytest.approx(np.array(m.MEMORIES_UNSEEN) / [1.0, 1.0, 2.0])


@pytest.mark.parametrize(("interval", "more"), [(0.1, 1.0), (0.6, 1.2), (2.0, 1.4)])
def test_sparse_positions_alone_are_believed_to_miss_turns(interval, more):
    moves = moves_of(None, (), rest=NOTHING_RESTS, model=SensorModel(), interval=interval)
    assert moves.sizes == pytest.approx(np.array(m.SIZES_UNSEEN) * [more, 1.0, 1.0])


def test_another_belief_changes_what_it_is_about_and_nothing_else():
    """As if the log had been prepared with it."""
    log = simulated_log(weaving(0.3), rng=np.random.default_rng(3), noise=CAR)
    model = told(CAR)
    lively = replace(model, liveliness=(0.6, 1.0, 1.7))
    was, wanted = (prepare(log, plane=None, model=one).problem for one in (model, lively))
    moves = moves_of(None, ["yaw_rate", "lateral_acceleration"], rest=NOTHING_RESTS, model=lively)
    for name, value in moving_so(was, moves)._asdict().items():
        assert np.array_equal(value, getattr(wanted, name)), name
    assert not np.array_equal(was.told, wanted.told)


def test_a_sample_between_the_middles_of_two_steps_reads_between_their_states():
    """A yaw rate on its way to what it aims at: half a step before its middle, it is half of its step back."""
    memory = 0.3
    kept = np.exp(-m.STEP / memory)
    moves = Moves(np.zeros(3), np.zeros(3), np.full(3, memory), np.ones(3))
    log = simulated_log(weaving(0.3), rng=np.random.default_rng(3), noise=CAR)
    problem = moving_so(prepare(log, plane=None, model=told(CAR)).problem, moves)
    j = np.flatnonzero(problem.kind == m.CAR_RATE)[500]
    state, row = np.zeros(problem.start.size + 1), np.zeros(problem.start.size + 1)
    state[m.YAW_RATE], state[problem.places[AIMS[0]]] = 0.4, 0.9
    step = (1.0 - kept) * 0.5
    reads = m.expected(m.CAR_RATE, state, tuple(problem.told[j]), problem.places, row)
    assert reads == pytest.approx(0.4 + (problem.told[j, 0] / m.STEP - 0.5) * step)
