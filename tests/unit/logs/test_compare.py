"""Two runs by station; best own features and what joining them hides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.compare import DifferentPathsError, NoRunsError, best_features, compare
from conewise.logs.run_finder import find_runs
from tests.driven import FRONT, Drive, day_of
from tests.solved import short_course, straight_course
from tests.unit.logs.test_measures import trace_along


def geometry():
    return lay_out(straight_course(200.0))


def steady(speed, **others):
    return trace_along(geometry(), offset=np.zeros_like, speed=lambda s: np.full_like(s, speed), **others)


def test_a_slower_run_loses_its_difference_evenly():
    found = compare(steady(10.0, front_reach=1.5), steady(20.0))
    assert found.time == pytest.approx(found.station / 10.0 - found.station / 20.0)
    assert found.speed == pytest.approx(-10.0)
    assert sum(lost for _, lost in found.by_feature(geometry())) == pytest.approx(10.0, abs=1e-9)


def test_the_cursor_shows_both_cars_with_their_fronts_at_one_station():
    place = compare(steady(10.0, front_reach=1.5), steady(20.0)).at(50.0)
    assert place.x == pytest.approx((48.5, 50.0))
    assert place.time == pytest.approx((5.0, 2.5))


def test_runs_along_different_paths_are_refused():
    other = trace_along(lay_out(straight_course(150.0)), offset=np.zeros_like, speed=lambda s: np.full_like(s, 20.0))
    with pytest.raises(DifferentPathsError, match=r"200\.0 m"):
        compare(steady(10.0), other)


def test_the_best_of_each_feature_is_taken():
    first = trace_along(geometry(), offset=np.zeros_like, speed=lambda s: np.where(s < 100.0, 20.0, 10.0), name="a")
    second = trace_along(geometry(), offset=np.zeros_like, speed=lambda s: np.where(s < 100.0, 10.0, 20.0), name="b")
    best = best_features([first, second], geometry())
    assert best.total == pytest.approx(10.0, abs=0.2)  # the change of speed takes a station
    assert best.fastest == pytest.approx(15.0, abs=0.1)
    assert {feature.run for feature in best.features} == {"a", "b"}
    assert best.total <= best.joined <= best.fastest
    assert sum(f.time for f in best.features) == pytest.approx(best.total)
    assert sum(f.lost_by_best_run for f in best.features) == pytest.approx(best.fastest - best.total)


def test_a_join_of_unequal_speeds_costs_what_making_it_up_costs():
    """From 16 to 20 m/s at a = 4 m/s2: one second and 18 m, which take 0.9 s at 20 m/s; dv^2 / (2 a v) = 0.1 s."""
    first = trace_along(geometry(), offset=np.zeros_like, speed=lambda s: np.where(s < 100.0, 16.0, 2.0), name="a")
    second = trace_along(
        geometry(), offset=lambda s: 0.5 + 0.0 * s, speed=lambda s: np.where(s < 60.0, 2.0, 20.0), name="b"
    )
    flat = {"longitudinal_acceleration": np.concatenate([[4.0, -4.0], np.zeros(first.station.size - 2)])}
    best = best_features([replace(first, **flat), replace(second, **flat)], geometry())
    (join,) = best.joins
    assert (join.before, join.after) == ("a", "b")
    assert join.speed_gap == pytest.approx(4.0)
    assert join.offset_gap == pytest.approx(0.5)
    assert join.loss == pytest.approx(0.1)
    assert best.optimistic_by == pytest.approx(0.1)  # no luck: positions are certain here


def test_luck_is_that_of_the_least_of_normal_numbers():
    """Two equal normal times: the lesser is 1/sqrt(pi) = 0.564 deviations early (David and Nagaraja, Order Statistics,
    2003, from memory)."""
    trace = replace(steady(20.0), station_deviation=np.full_like(steady(20.0).station, 0.2))
    best = best_features([trace, replace(trace, name="again")], geometry())
    first, others = 0.2 / 20.0, np.hypot(0.2, 0.2) / 20.0  # the clock starts at the start beam, wherever the car was
    each = first + (len(best.features) - 1) * others
    assert best.luck == pytest.approx(each / np.sqrt(np.pi), rel=1e-6)


def test_without_a_run_there_is_nothing_best():
    with pytest.raises(NoRunsError):
        best_features([], geometry())


def test_two_driven_runs_differ_by_their_times(rng):
    course = lay_out(short_course())
    track = day_of(course, [Drive(), Drive(friction=0.7)]).track(rng, noise=0.2)
    runs = find_runs(track, course, front_reach=FRONT)
    fast, slow = (laid_along(track, run) for run in runs)
    found = compare(slow, fast)
    assert found.time[0] == 0.0
    assert found.time[-1] == pytest.approx(slow.run_time - fast.run_time, abs=1e-9)
    assert sum(lost for _, lost in found.by_feature(course)) == pytest.approx(found.time[-1], abs=1e-9)
    assert found.deviation[0] == pytest.approx(0.0, abs=1e-9)  # both clocks start there
    assert found.deviation[-1] == pytest.approx(np.hypot(*(run.time_deviation for run in runs)), rel=0.05)
