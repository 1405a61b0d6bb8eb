"""From what sensors record to run and feature times: a known motion, simulated logs, fusing, finding, laying."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.course_from_runs import course_from_runs
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.readers import read_log
from conewise.logs.run_finder import find_runs
from conewise.logs.simulated import SensorNoise, motion, simulated_log
from conewise.runs import feature_results
from tests.driven import FRONT, RATE, Drive, day_of
from tests.recorded import recorded
from tests.solved import short_course

PRECISE = SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05)
RECEIVER_ONLY = SensorNoise(receiver_rate=10.0, slow_position=0.5, white_position=0.1, inertial_rate=0.0)


def known_motion(day):
    """The motion of a day as a car would make it: the body along the line, turning no faster than the line."""
    driven = np.vstack(day.pieces)
    time = np.arange(len(driven)) / RATE
    place = gaussian_filter1d(driven[:, :2], 4.0, axis=0)
    rate = np.gradient(place, time, axis=0)
    moving = np.flatnonzero(np.hypot(*rate.T) > 0.6)
    yaw = np.unwrap(np.arctan2(rate[:, 1], rate[:, 0])[moving])
    return motion(time, place, gaussian_filter1d(np.interp(time, time[moving], yaw), 8.0))


def times_of(geometry, trace):
    rows = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
    return np.array([row.time for row in rows])


@pytest.mark.parametrize(
    ("noise", "run_error", "feature_error"),
    [(PRECISE, 0.05, 0.03), (SensorNoise(), 0.25, 0.2), (RECEIVER_ONLY, 0.35, 0.25)],  # a metre at 10 m/s is 0.1 s
    ids=["25 Hz, 2 cm", "10 Hz, 0.5 m", "10 Hz, 0.5 m, no inertial sensors"],
)
def test_a_simulated_recording_gives_the_times_that_were_driven(rng, noise, run_error, feature_error):
    geometry = lay_out(short_course())
    day = day_of(geometry, [Drive(friction=0.7), Drive(friction=0.8)])
    exact = lay_day(day.track(rng), geometry, is_placed=True, front_reach=FRONT)
    track = fuse(simulated_log(known_motion(day), rng=rng, noise=noise))
    laid = lay_day(track, geometry, is_placed=True, front_reach=FRONT)
    assert [one.run.kind for one in laid.runs] == ["complete", "complete"]
    for one, true, (start, finish) in zip(laid.runs, exact.runs, day.truth, strict=True):
        assert one.run.time == pytest.approx(finish - start, abs=min(run_error, 4.0 * one.run.time_deviation))
        assert times_of(geometry, one.trace) == pytest.approx(times_of(geometry, true.trace), abs=feature_error)


def test_a_recorded_drive_stands_in_for_a_run():
    """A drive on public roads: no open recording of runs on a cone course was found."""
    track = fuse(read_log(recorded("car_gps_imu_csv", "drive.csv")))
    run = max(find_runs(track), key=lambda found: found.path.length)
    trace = laid_along(track, run)
    driven = slice(*np.searchsorted(track.time, [run.start.time, run.finish.time]))
    length = np.hypot(np.diff(track.x[driven]), np.diff(track.y[driven])).sum()
    assert run.kind == "complete"
    assert run.path.length == pytest.approx(
        length, rel=0.02
    )  # the path is smoothed over 10 m; the car stands on the way
    assert np.abs(trace.lateral_offset).max() < 1.5
    made = course_from_runs([track], name="stand-in")
    assert lay_out(made.course).path.length == pytest.approx(made.path.length, rel=0.02)
