"""Laws of the breakdown: it adds up, the line costs nothing less than nothing, what cannot be told is not told."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from conewise.logs.breakdown import FrictionFound
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.solver.checks import run_checks
from conewise.solver.on_line import feature_times, freed, room_taken, run_on_line
from conewise.solver.replay import replayed
from conewise.solver.solution import transient_solution
from conewise.workflows.debrief_lines import allowed_lines, spread_of
from conewise.workflows.debrief_runs import (
    FreeRun,
    Solved,
    body_of,
    breakdown_of,
    not_beaten,
    on_drivers_line,
)
from tests.cars import DEMO_NAMES, demo_car
from tests.solved import short_run, solved

KNOWN = FrictionFound(value=1.0, low=1.0, high=1.0, origin="saturated")
LESS = -0.005  # the promise: the line as a whole is never below it [s]


@lru_cache(maxsize=2)
def line_with(room):
    """The best run on a line that keeps a distance from every cone, on the mesh of the free run."""
    free = short_run()
    n = free.point.variables["lateral_offset"]
    if room:
        geometry = free.problem.geometry
        wide = solved(geometry.course, DEMO_NAMES[0], margins=np.full(len(geometry.passes), room))
        stations = free.problem.mesh.station, wide.problem.mesh.station
        n = np.interp(*stations, wide.point.variables["lateral_offset"])
    return run_on_line(free, n)


@lru_cache(maxsize=1)
def broken_down():
    """A calm run on a wide line, recorded at 10 Hz: the breakdown, and the true parts."""
    free, line = short_run(), line_with(0.4)
    geometry, body = free.problem.geometry, body_of(free.problem.p)
    calm = replace(free.problem.p, friction_share=0.85)
    driven = run_on_line(free, line.point.variables["lateral_offset"], p=calm, near=line)
    rng = np.random.default_rng(11)
    log = simulated_log(motion_of(transient_solution(driven)), rng=rng, noise=SensorNoise())
    day = lay_day(fuse(log), geometry, is_placed=True, front_reach=body.front_reach, half_width=body.width / 2.0)
    base = FreeRun(run=free, laid=replace(day.runs[0], geometry=geometry), car=demo_car(DEMO_NAMES[0]))
    allowed = allowed_lines(base, rng, 6, hit=frozenset())
    found = on_drivers_line(base, allowed.line)
    base, _ = not_beaten(base, found)
    spread = spread_of(base, allowed, line=found, until=np.inf, rng=rng)
    runs = Solved(free=base, on_line=found, best=base.solution(base.run), spread=spread)
    traces = {"on_line": base.trace(found, "line"), "best": base.trace(base.run, "best")}
    return base, runs, traces, breakdown_of(runs, friction=KNOWN, **traces), driven


def test_the_parts_add_up_to_a_millisecond():
    base, _, _, breakdown, _ = broken_down()
    assert sum(f.line + f.speed for f in breakdown.features) == pytest.approx(breakdown.gap, abs=1e-3)
    assert breakdown.measured == pytest.approx(base.laid.run.time, abs=1e-3)
    assert breakdown.gap == pytest.approx(base.laid.run.time - base.run.point.time, abs=1e-3)


def test_the_whole_parts_are_near_the_truth():
    _, _, _, breakdown, driven = broken_down()
    line = line_with(0.4).point.time - short_run().point.time
    speed = driven.point.time - line_with(0.4).point.time
    assert breakdown.best_on_line - breakdown.best == pytest.approx(line, abs=0.06)  # 0.2 m of position at a cone
    assert breakdown.measured - breakdown.best_on_line == pytest.approx(speed, abs=0.2)  # the launch is 0.1 s unsure


def test_intervals_hold_their_parts():
    breakdown = broken_down()[3]
    assert breakdown.n_paths >= 5
    for gap in breakdown.features:
        assert gap.line_interval.low < gap.line < gap.line_interval.high
        assert gap.speed_interval.low < gap.speed < gap.speed_interval.high
        assert gap.line_interval.width > 2.0 * 1.645 * 0.002  # never surer than the solves: 2 ms, one deviation


@pytest.mark.parametrize("room", [0.0, 0.4])
def test_the_line_as_a_whole_costs_nothing_less_than_nothing(room):
    line = line_with(room)
    base = FreeRun(run=short_run(), laid=broken_down()[0].laid, car=demo_car(DEMO_NAMES[0]))
    free, findings = not_beaten(base, line)
    assert line.point.time - free.run.point.time >= LESS
    assert free.run.point.time <= base.run.point.time + 1e-6
    assert all(finding.code == "room-of-cones" for finding in findings)


def test_a_line_that_keeps_away_from_cones_costs_time_and_room():
    near, far = line_with(0.0), line_with(0.4)
    assert far.point.time > near.point.time + 0.05
    assert room_taken(far).min() > room_taken(near).min()
    assert freed(short_run(), far).point.time <= short_run().point.time


def test_a_freed_run_has_checks_of_its_own():
    """Allowed to lean over the cones by 3 cm it is another run, and says itself what holds of it."""
    run = short_run()
    found = freed(run, line_with(0.0), margins=np.full(len(run.problem.margins), -0.03))
    assert found.point.time < run.point.time - 1e-3
    assert [check.name for check in found.checks] == [check.name for check in run.checks]
    own = run_checks(found.problem, found.point, replayed(found.problem, found.point))
    assert found.checks == own
    assert found.checks != run.checks


def test_less_friction_on_a_line_is_slower_and_features_sum_up():
    free, line = short_run(), line_with(0.4)
    n = line.point.variables["lateral_offset"]
    slow = run_on_line(free, n, p=replace(free.problem.p, friction_share=0.8), near=line)
    assert slow.point.time > line.point.time + 0.3
    for run in (line, slow):
        assert feature_times(run).sum() == pytest.approx(run.point.time, abs=1e-6)


def test_without_a_line_the_parts_are_not_numbers():
    base, runs, traces, whole, _ = broken_down()
    reduced = breakdown_of(replace(runs, on_line=None, spread=None), friction=KNOWN, **traces)
    assert np.isnan(reduced.best_on_line)
    assert not any(gap.is_line_told or gap.is_speed_told for gap in reduced.features)
    assert reduced.gap == pytest.approx(whole.gap)
    assert reduced.measured == pytest.approx(base.laid.run.time, abs=1e-9)
