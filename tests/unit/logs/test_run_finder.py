"""Runs found in a day made from known motion: what was driven, and when the beams were cut, is known."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import lru_cache

import numpy as np
import pytest

from conewise.course.layout import PassSide
from conewise.course.reference import lay_out
from conewise.logs.run_finder import find_runs
from tests.driven import FRONT, Day, Drive, day_of, track_of
from tests.recorded import recorded
from tests.solved import crossing_course, short_course, slalom_course
from tests.unit.course.test_cone_map import recorded_map

WIDE = Drive(friction=0.8, offset=lambda s: 6.0 * np.exp(-(((s - 80.0) / 8.0) ** 2)))  # round the wrong side of a cone
BROKEN_OFF = Drive(until=60.0, leave=8.0)


@lru_cache(maxsize=1)
def short_geometry():
    return lay_out(short_course())


@lru_cache(maxsize=1)
def full_day():
    return day_of(
        short_geometry(),
        [Drive(), BROKEN_OFF, Drive(offset=lambda s: 0.3 * np.sin(s / 10.0)), WIDE, Drive(friction=0.7)],
    )


def found(track, geometry=None):
    return find_runs(track, geometry, front_reach=FRONT)


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.3])
def test_every_try_is_found_and_told_apart(rng, noise):
    runs = found(full_day().track(rng, noise=noise), short_geometry())
    assert [run.kind for run in runs] == ["complete", "aborted", "complete", "wrong-course", "complete"]
    assert [run.repeats for run in runs] == [None, None, 2, None, None]
    assert [run.number for run in runs] == [1, 2, 3, 4, 5]
    assert runs[1].time is None
    assert 60.0 < runs[1].furthest < 100.0  # it leaves the course from 60 m on
    assert "wrong-side" in {finding.code for finding in runs[3].findings}


def test_run_times_are_as_sure_as_they_say(rng):
    """Errors in units of the standard deviation stay within what a normal law allows."""
    in_units = []
    for _ in range(8):
        runs = found(full_day().track(rng, noise=0.3), short_geometry())
        for run, (start, finish) in zip(runs, full_day().truth, strict=True):
            if run.time is not None:
                in_units.append((run.time - (finish - start)) / run.time_deviation)
    assert len(in_units) == 32
    assert np.sqrt(np.mean(np.square(in_units))) < 1.5
    assert np.max(np.abs(in_units)) < 4.0


def test_without_noise_the_time_is_right_to_the_sampling(rng):
    """50 samples a second, straight between them: a dt^2 / 8 over the speed is below 0.2 ms; the launch adds 2 ms."""
    runs = found(full_day().track(rng), short_geometry())
    for run, (start, finish) in zip(runs, full_day().truth, strict=True):
        if run.time is not None:
            assert run.time == pytest.approx(finish - start, abs=0.003)


def test_a_shift_of_a_metre_does_not_spoil_the_start(rng):
    """At the beam the car is slow; the staging distance tells the time that the position cannot."""
    track = full_day().track(rng, noise=0.05, bias=1.0)
    for run, (start, _) in zip(found(track, short_geometry()), full_day().truth, strict=True):
        assert run.start.time == pytest.approx(start, abs=0.1)


def test_without_a_course_the_repeated_path_is_the_course(rng):
    runs = found(full_day().track(rng, noise=0.3))
    assert [run.kind for run in runs] == ["complete", "aborted", "complete", "complete", "complete"]
    true = [finish - start for start, finish in full_day().truth]
    mine = [run.time for run in runs]
    # the finish of the repeated path lies where the first of the runs brakes: all are shorter by about as much
    assert mine[2] - mine[0] == pytest.approx(true[2] - true[0], abs=0.15)
    assert mine[4] - mine[0] == pytest.approx(true[4] - true[0], abs=0.3)


def test_a_course_that_crosses_itself_is_followed_in_order(rng):
    geometry = lay_out(crossing_course())
    day = day_of(geometry, [Drive(friction=0.6), Drive(friction=0.7)])
    runs = found(day.track(rng, noise=0.2), geometry)
    assert [run.kind for run in runs] == ["complete", "complete"]
    for run, (start, finish) in zip(runs, day.truth, strict=True):
        assert run.time == pytest.approx(finish - start, abs=0.25)


@pytest.mark.parametrize(("name", "is_closed"), [("competition_2", True), ("track_1", True), ("skidpad", False)])
def test_recorded_maps_are_followed_even_twice_round_a_circle(rng, name, is_closed):
    """Cone maps of another project; the drives are made, since no open recording on a cone course was found."""
    geometry = lay_out(recorded_map(name, is_closed=is_closed)[0])
    day = day_of(geometry, [Drive(friction=0.6), Drive(friction=0.7)])
    runs = found(day.track(rng, noise=0.1), geometry)
    assert [run.kind for run in runs] == ["complete", "complete"]
    for run, (start, finish) in zip(runs, day.truth, strict=True):
        assert run.time == pytest.approx(finish - start, abs=4.0 * run.time_deviation)


def test_the_side_taken_at_an_either_side_slalom_is_told():
    course = slalom_course(pass_side=PassSide.EITHER)
    left, right = (lay_out(course, choices={"slalom": side}) for side in ("left", "right"))
    for driven, side in ((left, "left"), (right, "right")):
        track = day_of(driven, [Drive(friction=0.6)]).track(np.random.default_rng(1), noise=0.05)
        (run,) = found(track, left)
        assert run.kind == "complete"
        assert run.choices == {"slalom": side}


def test_driving_about_is_no_run(rng):
    day = Day(short_geometry())
    day.stand(10.0)
    day.go_back()
    day.stand(5.0)
    assert found(day.track(rng), short_geometry()) == ()
    assert found(day.track(rng)) == ()


@pytest.mark.parametrize("n_samples", [1, 2, 3, 500])
def test_a_recording_of_a_parked_car_has_no_run(n_samples):
    track = track_of(np.arange(n_samples + 3) / 50.0, np.zeros((n_samples + 3, 2)))
    short = replace(
        track, **{f.name: v[:n_samples] for f in fields(track) if isinstance(v := getattr(track, f.name), np.ndarray)}
    )
    assert found(short, short_geometry()) == ()
    assert found(short) == ()


def test_a_rolling_start_is_found_and_said(rng):
    day = Day(short_geometry())
    day.stand(15.0)
    day.drive(Drive())
    whole = day.track(rng)
    from_speed = int(np.argmax(whole.speed > 4.0))
    motion = np.column_stack([whole.x, whole.y])[from_speed:]
    motion = np.vstack([motion[0] - np.arange(100, 0, -1)[:, None] * (motion[1] - motion[0]), motion])
    track = track_of(np.arange(len(motion)) / 50.0, motion)
    (run,) = found(track, short_geometry())
    assert "rolling-start" in {finding.code for finding in run.findings}


def rolled_up(geometry, *, standing):
    """A car that stands 5 m before its staging place, rolls up to it, stands, and goes."""
    day = Day(geometry)
    day.stand(10.0)
    point = geometry.path.at(np.array([-FRONT - 5.0]))
    day.pieces[0][:, :2] = point.x[0], point.y[0]
    there = np.linspace([point.x[0], point.y[0]], day._staged(), 160)
    day.pieces.append(np.column_stack([there, np.full(160, 1.5)]))
    if standing:
        day.stand(standing)
    day.drive(Drive())
    return day


def test_rolling_up_to_the_staging_place_is_not_the_launch(rng):
    day = rolled_up(short_geometry(), standing=2.0)
    (run,) = found(day.track(rng, noise=0.05), short_geometry())
    assert run.start.time == pytest.approx(day.truth[0][0], abs=0.1)
    assert run.findings == ()


def test_staging_elsewhere_is_said(rng):
    """Where the car does not stand at the staging place, the position tells the start."""
    day = rolled_up(short_geometry(), standing=0.0)
    (run,) = found(day.track(rng, noise=0.05), short_geometry())
    assert "staged-elsewhere" in {finding.code for finding in run.findings}
    assert run.start.time == pytest.approx(day.truth[0][0], abs=0.1)


def test_a_part_left_out_is_a_feature_missed(rng):
    """Straight on from 40 m of the crossing course, which there turns round a loop and comes back across."""
    geometry = lay_out(crossing_course())
    day = Day(geometry)
    day.stand(15.0)
    path = geometry.path
    loop_in, loop_out = 35.0, path.length - 26.0
    station = np.concatenate([np.arange(-FRONT - 0.3, loop_in, 0.25), np.arange(loop_out, path.length + 38.0, 0.25)])
    points = path.at(station)
    line = np.column_stack([points.x, points.y])
    cut = int(np.argmax(station >= loop_out))
    corner = line[cut - 30 : cut + 30]
    rounded = np.linspace(corner[0], corner[-1], 60)
    line[cut - 30 : cut + 30] = rounded
    day.pieces.append(day._along(line, friction=0.3)[0])
    day.stand(5.0)
    (run,) = found(day.track(rng, noise=0.1), geometry)
    assert run.kind == "wrong-course"
    assert run.finish is not None
    assert "feature-missed" in {finding.code for finding in run.findings}


@pytest.mark.parametrize(("seconds", "kind"), [(3.0, "complete"), (20.0, "aborted")])
def test_a_spin_goes_on_and_a_stop_gives_up(rng, seconds, kind):
    geometry = short_geometry()
    day = Day(geometry)
    day.stand(15.0)
    station = np.arange(-FRONT - 0.3, geometry.path.length + 30.0, 0.25)
    points = geometry.path.at(station)
    line = np.column_stack([points.x, points.y])
    middle = len(line) // 2
    day.pieces.append(day._along(line[: middle + 1], friction=0.7)[0])
    day.stand(seconds)
    day.pieces.append(day._along(line[middle:], friction=0.7)[0])
    day.stand(5.0)
    (run,) = found(day.track(rng, noise=0.1), geometry)
    assert run.kind == kind


def test_a_drive_on_the_road_has_no_runs_on_a_course(rng):
    """A recorded drive on public roads as a stand-in for a day at another place."""
    table = np.genfromtxt(recorded("car_gps_imu_csv", "drive.csv"), delimiter=",", names=True)
    names = {name.lower(): name for name in table.dtype.names}
    latitude = next(names[n] for n in names if n.startswith("lat"))
    longitude = next(names[n] for n in names if n.startswith("lon"))
    north = (table[latitude] - table[latitude][0]) * 111_132.0
    east = (table[longitude] - table[longitude][0]) * 111_320.0 * np.cos(np.radians(table[latitude][0]))
    time = np.arange(0.0, len(table) * 0.02, 0.02)[: len(table)]
    fixes = np.flatnonzero(np.hypot(np.diff(east), np.diff(north)) > 0.0) + 1
    motion = np.column_stack([np.interp(time, time[fixes], values[fixes]) for values in (east, north)])
    assert found(track_of(time, motion), short_geometry()) == ()


def test_a_vague_position_convicts_nobody(rng):
    """The run round the wrong side of a cone by 3 m, with positions that are said to be known to 1.2 m."""
    day = day_of(short_geometry(), [WIDE])
    track = day.track(rng, noise=0.05)
    vague = replace(track, position_covariance=np.tile(1.2**2 * np.eye(2), (len(track.time), 1, 1)))
    (sure,), (unsure,) = found(track, short_geometry()), found(vague, short_geometry())
    assert sure.kind == "wrong-course"
    assert unsure.kind == "complete"
    assert "side-unsure" in {finding.code for finding in unsure.findings}
