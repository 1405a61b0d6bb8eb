"""Fused recordings that nobody in this project made: rests, delays and turns as they were read off the files.

The files and their licences lie outside the repository (tests/recorded.py).
"""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pytest

from conewise.logs.fusion import fuse
from conewise.logs.readers import read_log
from tests.recorded import recorded


@lru_cache(maxsize=1)
def drive():
    return fuse(read_log(recorded("car_gps_imu_csv", "drive.csv")))


def is_finite(track):
    values = (track.x, track.y, track.speed, track.heading, track.lateral_acceleration, track.position_covariance)
    return all(np.isfinite(value).all() for value in values)


def test_the_delays_of_a_receiver_are_told():
    """The course of this receiver lags its gyroscope by about 1.1 s."""
    message = next(finding.message for finding in drive().findings if finding.code == "receiver-delay")
    _, speeds = (float(number) for number in re.findall(r"-?\d+\.\d+", message))
    assert speeds == pytest.approx(1.1, abs=0.1)  # "about"


@pytest.mark.parametrize(("begin", "end"), [(43.0, 47.0), (165.0, 169.0), (191.0, 196.0)])
def test_the_car_comes_to_a_stop_where_its_receiver_says_so(begin, end):
    """The receiver's speeds are late by 1.1 s and more when it comes to rest, so the stop lies up to 3 s earlier."""
    track = drive()
    inside = (track.time > begin - 3.0) & (track.time < end)
    assert track.speed[inside].min() < 1.0
    assert track.speed[np.abs(track.time - begin + 10.0) < 1.0].min() > 3.0  # driving ten seconds before


def test_a_whole_drive_is_as_long_and_as_fast_as_its_receiver_says():
    track = drive()
    assert is_finite(track)
    assert np.diff(track.time) == pytest.approx(0.02)
    # 1.76 km from fix to fix with their noise, which makes a way longer; 57.8 km/h
    assert np.hypot(np.diff(track.x), np.diff(track.y)).sum() == pytest.approx(1700.0, abs=80.0)
    assert track.speed.max() == pytest.approx(57.8 / 3.6, rel=0.05)


def test_a_sensor_told_upside_down_feels_the_turns_of_its_gyroscope():
    """0.37 g after a mean over 0.2 s; the sign is that of speed times yaw rate although the file's is the other."""
    track = drive()
    smooth = np.convolve(track.lateral_acceleration, np.full(11, 1.0 / 11.0), mode="same")
    assert np.abs(smooth).max() / 9.80665 == pytest.approx(0.37, abs=0.06)
    assert np.corrcoef(smooth, track.speed * track.yaw_rate)[0, 1] > 0.8  # a sensor that shakes by 0.9 m/s2


def test_a_survey_receiver_is_believed_to_the_centimetre():
    """Quality 2, then 4 (RTK) after a silence of ten minutes."""
    track = fuse(read_log(recorded("nmea", "c_rtk.log")))
    assert is_finite(track)
    assert "started-anew" in {finding.code for finding in track.findings}
    end = track.time > track.time[-1] - 1.0
    assert np.sqrt(track.position_covariance[end, 0, 0]).max() < 0.05
    start = track.time < 10.0
    assert np.sqrt(track.position_covariance[start, 0, 0]).min() > 0.3


def test_a_parked_receiver_stands():
    track = fuse(read_log(recorded("nmea", "b_parked.log")))
    assert track.speed.max() < 0.05
    assert np.ptp(track.x) < 0.1


def test_uneven_fixes_with_holes_make_one_path():
    track = fuse(read_log(recorded("gpx", "car_with_holes.gpx")))
    assert is_finite(track)
    # 2.73 km in straight lines from fix to fix; a car goes round the corners between them
    assert 2700.0 < np.hypot(np.diff(track.x), np.diff(track.y)).sum() < 3100.0


def test_a_sensor_on_its_side_is_levelled():
    """Inertial sensor with gravity on its x axis; 264 m, at most 14.6 m/s."""
    log = read_log(recorded("mdf4_can", "drive.mf4"), dbc=recorded("mdf4_can", "gps_imu.dbc"))
    track = fuse(log)
    assert is_finite(track)
    assert track.speed.max() == pytest.approx(14.6, abs=0.7)
    assert np.hypot(np.diff(track.x), np.diff(track.y)).sum() == pytest.approx(264.0, rel=0.05)
