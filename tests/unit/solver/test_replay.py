"""The replay: a second integrator that a wrong solution cannot pass."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.solver import checks, replay
from conewise.solver.node import SCALE, VARIABLES
from tests.solved import short_run


def bent(point, name, change):
    """The point with one unknown changed at every node."""
    z = point.z.copy()
    column = VARIABLES.index(name)
    z[:, column] = change(z[:, column] * SCALE[column]) / SCALE[column]
    return replace(point, z=z)


def test_the_times_of_the_intervals_sum_to_the_run():
    run = short_run()
    problem, point = run.problem, run.point
    times = replay.interval_times(problem, point)
    assert len(times) == len(problem.mesh.step)
    assert np.all(times > 0.0)
    launch = problem.program(0.0).launch_time
    assert times[: problem.mesh.finish].sum() + launch == pytest.approx(point.time, abs=1e-9)
    assert point.node_time.sum() + launch == pytest.approx(point.time, abs=1e-9)


def test_windows_restart_along_the_whole_run():
    run = short_run()
    drift = replay.window_drift(run.problem, run.point)
    assert drift.station[0] == run.problem.mesh.station[0]
    assert np.diff(drift.station).max() < replay.WINDOW + 2.0
    assert drift.station[-1] > run.problem.mesh.station[-1] - 2.0 * replay.WINDOW


def test_a_solved_run_stays_on_its_nodes():
    run = short_run()
    drift = replay.window_drift(run.problem, run.point)
    assert np.percentile(drift.lateral, 95) < checks.DRIFT_USUAL
    assert drift.lateral.max() < checks.DRIFT_WORST
    assert drift.speed.max() < checks.DRIFT_SPEED


@pytest.mark.parametrize(
    ("name", "change", "which"),
    [
        ("road_wheel_angle", lambda v: v + 0.02, "lateral"),
        ("command", lambda v: np.clip(v + 0.3, -1.0, 1.0), "speed"),
        ("v_y", lambda v: v + 0.4, "lateral"),
        ("lateral_offset", lambda v: v + 0.3 * np.sin(np.arange(len(v))), "lateral"),
    ],
)
def test_a_run_that_the_car_cannot_drive_drifts(name, change, which):
    run = short_run()
    drift = replay.window_drift(run.problem, bent(run.point, name, change))
    limit = {"lateral": checks.DRIFT_WORST, "speed": checks.DRIFT_SPEED}[which]
    assert getattr(drift, which).max() > limit


def test_smaller_steps_of_the_integrator_change_nothing(monkeypatch):
    run = short_run()
    usual = replay.window_drift(run.problem, run.point)
    monkeypatch.setattr(replay, "STEP_TIME", replay.STEP_TIME / 2.0)
    finer = replay.window_drift(run.problem, run.point)
    assert finer.lateral == pytest.approx(usual.lateral, abs=2e-3)
    assert finer.speed == pytest.approx(usual.speed, abs=5e-3)


def test_a_driver_who_tracks_the_line_needs_the_same_time():
    run = short_run()
    replays = replay.replayed(run.problem, run.point)
    tracked = replays.tracked
    assert tracked.time == pytest.approx(run.point.time, rel=checks.TRACKED_LIMIT)
    assert tracked.away.max() < 0.3
    assert tracked.station[-1] == pytest.approx(run.problem.mesh.station[run.problem.mesh.finish], abs=1e-6)
    assert not len(checks.off_line(run.point, replays))


def test_a_driver_who_leaves_the_line_says_where():
    run = short_run()
    replays = replay.replayed(run.problem, run.point)
    tracked = replays.tracked
    away = np.where(tracked.station > 40.0, 0.2, tracked.away)
    late = replace(tracked, time=1.01 * run.point.time, away=away)
    off = checks.off_line(run.point, replace(replays, tracked=late))
    assert off.min() == pytest.approx(40.0 - checks.TRACKED_LEAD, abs=1.5)
    assert off.max() == tracked.station[-1]
    assert not len(checks.off_line(run.point, replace(replays, tracked=None)))
    slow = replace(late, away=np.zeros_like(away))  # no place where a finer mesh could help
    assert not len(checks.off_line(run.point, replace(replays, tracked=slow)))


def test_less_grip_than_the_run_was_solved_for_is_noticed():
    run = short_run()
    slippery = run.problem.changed(p=replace(run.problem.p, surface=0.85))
    drift = replay.window_drift(slippery, run.point)
    assert drift.lateral.max() > checks.DRIFT_WORST
