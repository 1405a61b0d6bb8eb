"""Laws of recorded runs: what must not change when clock, plane or order do."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.compare import compare
from conewise.logs.run_finder import find_runs
from conewise.runs import feature_results
from tests.driven import FRONT, Drive, day_of, moved
from tests.solved import crossing_course, short_course


@lru_cache(maxsize=2)
def day(make):
    geometry = lay_out(make())
    drives = [Drive(friction=0.8), Drive(friction=0.7, offset=lambda s: 0.4 * np.sin(s / 12.0))]
    return geometry, day_of(geometry, drives).track(np.random.default_rng(4), noise=0.2)


def traces(make, **movement):
    geometry, track = day(make)
    track = moved(track, **movement)
    return geometry, [laid_along(track, run) for run in find_runs(track, geometry, front_reach=FRONT)]


@given(later=st.floats(-1e4, 1e5))
def test_a_clock_that_starts_elsewhere_changes_no_time(later):
    geometry, track = day(short_course)
    before = find_runs(track, geometry, front_reach=FRONT)
    after = find_runs(moved(track, later=later), geometry, front_reach=FRONT)
    assert [run.time for run in after] == pytest.approx([run.time for run in before], abs=1e-8)  # 1e5 s holds 1e-11
    assert [run.start.time - later for run in after] == pytest.approx([run.start.time for run in before], abs=1e-8)


@given(turn=st.floats(-3.0, 3.0), east=st.floats(-500.0, 500.0), north=st.floats(-500.0, 500.0))
def test_a_turned_course_under_a_turned_recording_changes_no_time(turn, east, north):
    geometry, track = day(short_course)
    cos, sin = np.cos(turn), np.sin(turn)
    cones = tuple(
        cone.changed(x=cone.x * cos - cone.y * sin + east, y=cone.x * sin + cone.y * cos + north)
        for cone in geometry.course.cones
    )
    there = lay_out(geometry.course.changed(cones=cones, site={}))
    before = find_runs(track, geometry, front_reach=FRONT)
    after = find_runs(moved(track, turn=turn, east=east, north=north), there, front_reach=FRONT)
    assert [run.kind for run in after] == [run.kind for run in before]
    assert [run.time for run in after] == pytest.approx([run.time for run in before], abs=1e-4)  # the path relaxes anew


@pytest.mark.parametrize("make", [short_course, crossing_course])
def test_swapping_two_runs_flips_the_sign(make):
    _, (a, b) = traces(make)
    there, back = compare(a, b), compare(b, a)
    assert np.array_equal(there.station, back.station)
    for name in ("time", "speed", "lateral_offset"):
        assert np.array_equal(getattr(there, name), -getattr(back, name))
    assert np.array_equal(there.deviation, back.deviation)


@pytest.mark.parametrize("make", [short_course, crossing_course])
def test_a_run_against_itself_is_nought(make):
    _, (a, _) = traces(make)
    assert not np.any(compare(a, a).time)


@pytest.mark.parametrize("make", [short_course, crossing_course])
def test_feature_times_sum_to_the_run(make):
    geometry, pair = traces(make)
    for trace in pair:
        features = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
        assert sum(f.time for f in features) == pytest.approx(trace.run_time, abs=1e-9)


@given(seed=st.integers(0, 10_000), noise=st.floats(0.0, 0.5))
def test_the_projection_of_a_crossing_course_keeps_its_order(seed, noise):
    geometry = lay_out(crossing_course())
    track = day_of(geometry, [Drive(friction=0.7)]).track(np.random.default_rng(seed), noise=noise)
    (run,) = find_runs(track, geometry, front_reach=FRONT)
    trace = laid_along(track, run)
    assert run.kind == "complete"
    assert (np.diff(trace.time) > 0.0).all()
    assert np.abs(trace.lateral_offset).max() < 1.0 + 4.0 * noise
