"""Found runs laid along their course: order, sums, the true line."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.logs.align import RunNotFinishedError, laid_along
from conewise.logs.run_finder import find_runs
from conewise.runs import feature_results
from tests.driven import FRONT, Drive, day_of
from tests.solved import crossing_course, short_course


def waved(station):
    return 0.4 * np.sin(station / 10.0)


def traces(geometry, drives, rng, **noise):
    track = day_of(geometry, drives).track(rng, **noise)
    return track, [
        (run, laid_along(track, run)) for run in find_runs(track, geometry, front_reach=FRONT) if run.finish is not None
    ]


def test_a_trace_is_the_line_that_was_driven(rng):
    geometry = lay_out(short_course())
    _, (pair,) = traces(geometry, [Drive(offset=waved)], rng)
    run, trace = pair
    settled = trace.station > 20.0
    assert trace.lateral_offset[settled] == pytest.approx(
        waved(trace.station[settled]), abs=0.01
    )  # 50 samples a second
    assert trace.front_station[[0, -1]] == pytest.approx([0.0, geometry.path.length])
    assert trace.run_time == pytest.approx(run.time, abs=1e-9)
    points = geometry.path.at(trace.station)
    assert trace.x == pytest.approx(points.x - trace.lateral_offset * np.sin(points.heading), abs=0.02)


def test_the_deviations_are_those_of_the_track(rng):
    _, (pair,) = traces(lay_out(short_course()), [Drive()], rng, noise=0.4)
    assert pair[1].lateral_offset_deviation == pytest.approx(0.4)
    assert pair[1].station_deviation == pytest.approx(0.4)


def test_a_crossing_course_keeps_its_order(rng):
    geometry = lay_out(crossing_course())
    _, (pair,) = traces(geometry, [Drive(friction=0.6)], rng, noise=0.2)
    trace = pair[1]
    assert (np.diff(trace.time) > 0.0).all()
    assert np.abs(trace.lateral_offset).max() < 1.5  # a jump to the other branch would be several metres


def test_a_run_without_a_finish_has_no_trace(rng):
    track = day_of(lay_out(short_course()), [Drive(until=60.0, leave=8.0)]).track(rng)
    (run,) = find_runs(track, lay_out(short_course()), front_reach=FRONT)
    with pytest.raises(RunNotFinishedError, match="Run 1 ended"):
        laid_along(track, run)


def test_feature_times_sum_to_the_run(rng):
    geometry = lay_out(short_course())
    _, pairs = traces(geometry, [Drive(), Drive(friction=0.7)], rng, noise=0.3)
    for _, trace in pairs:
        features = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
        assert sum(feature.time for feature in features) == pytest.approx(trace.run_time, abs=1e-9)
