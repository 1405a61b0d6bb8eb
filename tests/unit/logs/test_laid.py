"""A day's recording on its course, from the recording's own plane to traces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.layout import PassSide
from conewise.course.reference import lay_out
from conewise.logs.laid import lay_day
from conewise.logs.measures import measures
from conewise.runs import Body
from tests.driven import FRONT, Drive, day_of, moved
from tests.solved import COURSE_NAMES, demo_course, short_course, slalom_course

BODY = Body(length=4.0, width=1.8, front_reach=FRONT)
DRIVES = [
    Drive(friction=0.75),
    Drive(until=70.0, leave=8.0),
    Drive(friction=0.8, offset=lambda s: 0.3 * np.sin(s / 10.0)),
]
KINDS = ["complete", "aborted", "complete"]


def test_a_bias_of_metres_is_taken_back_before_the_run_is_judged():
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    day = day_of(geometry, DRIVES)
    for seed in range(6):
        track = day.track(np.random.default_rng(seed), noise=0.2, bias=2.0)
        laid = lay_day(track, geometry, is_placed=True, front_reach=FRONT)
        assert [one.run.kind for one in laid.runs] == KINDS
        assert [one.run.number for one in laid.runs] == [1, 2, 3]
        first, _, third = laid.runs
        assert laid.runs[1].trace is None
        for one, (start, finish) in ((first, day.truth[0]), (third, day.truth[2])):
            assert one.trace.run_time == pytest.approx(finish - start, abs=4.0 * one.run.time_deviation)
            assert np.sqrt(np.mean(one.trace.lateral_offset**2)) < 0.7
            assert one.track.time[one.run.samples][0] == pytest.approx(start, abs=0.2)
            assert one.track.sample_positions(np.random.default_rng(1), 2).shape == (2, one.track.time.size, 2)


def test_an_unplaced_recording_is_placed_first(rng):
    geometry = lay_out(short_course())
    day = day_of(geometry, DRIVES)
    track = moved(day.track(rng, noise=0.1), turn=1.0, east=200.0, north=50.0)
    laid = lay_day(track, geometry, is_placed=False, front_reach=FRONT)
    assert laid.placement.turn == pytest.approx(-1.0, abs=0.02)
    assert [one.run.kind for one in laid.runs] == KINDS


def test_a_run_on_the_wrong_side_stays_one(rng):
    """The cones of the others hold the run in place against the one that it went round wrongly."""
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    cone = next(p for p in geometry.passes if p.feature.startswith("slalom"))
    wide = Drive(friction=0.6, offset=lambda s: 2.6 * cone.side * np.exp(-(((s - cone.station) / 7.0) ** 2)))
    track = day_of(geometry, [wide]).track(rng, noise=0.05, bias=0.3)
    laid = lay_day(track, geometry, is_placed=True, front_reach=FRONT)
    assert [one.run.kind for one in laid.runs] == ["wrong-course"]
    assert np.hypot(laid.runs[0].shift.east, laid.runs[0].shift.north) < 1.0


def test_runs_that_took_other_sides_lie_along_one_path():
    course = slalom_course(pass_side=PassSide.EITHER)
    left, right = (lay_out(course, choices={"slalom": side}) for side in ("left", "right"))
    for driven in (left, right):
        track = day_of(driven, [Drive(friction=0.6)]).track(np.random.default_rng(2), noise=0.1)
        (one,) = lay_day(track, left, is_placed=True, front_reach=FRONT).runs
        assert one.run.kind == "complete"
        assert one.run.choices == driven.choices
        assert one.trace.front_station[-1] == pytest.approx(left.path.length)
        slalom = [c for c in measures(one.trace, one.geometry, BODY).cones if c.feature == "slalom"]
        assert [c.is_left for c in slalom] == [p.side > 0 for p in driven.passes if p.feature == "slalom"]
        for cone in slalom:  # the path leaves 1.2 m to the cone's middle
            assert cone.distance == pytest.approx(1.2 - 0.9 - 0.14, abs=0.3)


def test_along_another_path_a_run_keeps_what_is_known_of_its_errors(rng):
    course = slalom_course(pass_side=PassSide.EITHER)
    left, right = (lay_out(course, choices={"slalom": side}) for side in ("left", "right"))
    (one,) = lay_day(day_of(left, [Drive(friction=0.6)]).track(rng, noise=0.1), left, is_placed=True).runs
    again = one.along(right)
    assert again.geometry is right
    assert again.trace.front_station[-1] == pytest.approx(right.path.length)
    for known in ("start_deviation", "shift_covariance", "memory"):
        assert np.any(getattr(again.trace, known))
        assert getattr(again.trace, known) == getattr(one.trace, known)


def doubtful(track, stretch, *, deviation, off=0.0):
    """The track with positions that the log tells to 5 cm, but in a stretch as badly as told, where they are off."""
    more = np.zeros(track.time.size)
    more[stretch] = deviation * np.hanning(stretch.stop - stretch.start)
    x, y = track.x - off * more * np.sin(track.heading), track.y + off * more * np.cos(track.heading)

    def sample_positions(rng, count):
        wide = more[:, None] * rng.standard_normal((count, 1, 2))
        return np.column_stack([x, y]) + wide + 0.05 * rng.standard_normal((count, 1, 2))

    covariance = (0.05 + more)[:, None, None] ** 2 * np.eye(2)
    return replace(track, x=x, y=y, position_covariance=covariance, sample_positions=sample_positions)


def test_a_second_of_bad_positions_makes_that_second_unsure_and_no_other():
    geometry = lay_out(short_course())
    track = day_of(geometry, [Drive()]).track(np.random.default_rng(0), noise=0.02)
    bad = slice(900, 960)
    (one,) = lay_day(doubtful(track, bad, deviation=3.0), geometry, is_placed=True, front_reach=FRONT).runs
    told = np.interp([930, 850, 1100], np.arange(track.time.size)[_about(one, track)], _deviation(one))
    assert told[0] == pytest.approx(3.05, rel=0.1)
    assert (told[1:] < 0.25).all()
    at = np.searchsorted(one.trace.time + one.run.start.time, track.time[[930, 850, 1100]])
    assert one.trace.lateral_offset_deviation[at[0]] > 2.0
    assert (one.trace.lateral_offset_deviation[at[1:]] < 0.25).all()


def _about(one, track):
    first = int(np.searchsorted(track.time, one.track.time[0]))
    return slice(first, first + one.track.time.size)


def _deviation(one):
    return np.sqrt(np.trace(one.track.position_covariance, axis1=1, axis2=2) / 2.0)


def test_positions_that_the_log_doubts_convict_nobody():
    """Four metres off where the log tells 3 m, beside a cone, in a clean run."""
    geometry = lay_out(short_course())
    track = day_of(geometry, [Drive()]).track(np.random.default_rng(0), noise=0.02)
    for begin in range(823, 1142, 60):
        for off in (-1.3, 1.3):
            there = doubtful(track, slice(begin, begin + 60), deviation=3.0, off=off)
            (one,) = lay_day(there, geometry, is_placed=True, front_reach=FRONT).runs
            assert one.run.kind == "complete"
