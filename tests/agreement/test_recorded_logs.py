"""Recordings that nobody in this project made: each loads, with the facts that were measured when it was chosen.

The files and their licences lie outside the repository (tests/recorded.py); the facts are counts, spans and extremes
read off the files with other programs.
"""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod

from conewise.logs.gpx_track import NotATrackError
from conewise.logs.mdf import NeedsDbcError
from conewise.logs.places import metres
from conewise.logs.readers import NotALogError, read_log
from tests.recorded import recorded

KNOT = 1852.0 / 3600.0


def codes(log):
    return {finding.code for finding in log.findings}


def way(log):
    """Distance from place to place. [m]"""
    east, north = metres(log.channels["longitude"].value, log.channels["latitude"].value)
    return np.hypot(np.diff(east), np.diff(north)).sum()


def test_a_table_of_inertial_and_gnss_values():
    log = read_log(recorded("car_gps_imu_csv", "drive.csv"))
    assert log.duration == pytest.approx(216.0, abs=0.05)
    assert log.start.replace(microsecond=0) == datetime(2014, 3, 26, 12, 38, 25, tzinfo=UTC)
    assert way(log) == pytest.approx(1760.0, abs=5.0)  # 1.76 km
    assert log.channels["speed"].value.max() * 3.6 == pytest.approx(57.8, abs=0.05)  # the unit is told nowhere
    assert log.channels["sensor_acceleration_y"].value.size == 10800
    assert np.median(np.diff(log.channels["sensor_acceleration_y"].time)) == pytest.approx(0.02, abs=0.0005)  # 50 Hz
    for kind in ("latitude", "speed", "course"):  # 10 Hz, repeated in the table
        assert log.channels[kind].value.size == pytest.approx(2160, rel=0.02)
    standing = log.channels["sensor_acceleration_z"]
    at_rest = (standing.time > 44.0) & (standing.time < 46.0)
    assert standing.value[at_rest].mean() == pytest.approx(-9.7, abs=0.15)
    assert np.abs(log.channels["sensor_acceleration_y"].value).max() / 9.80665 == pytest.approx(0.87, abs=0.01)
    assert {"values-held", "rows-lost"} <= codes(log)
    slow = log.channels["speed"].value[(log.channels["speed"].time > 44.0) & (log.channels["speed"].time < 46.5)]
    assert slow.max() < 1.0


def test_raw_frames_of_a_bus():
    log = read_log(recorded("mdf4_can", "drive.mf4"), dbc=recorded("mdf4_can", "gps_imu.dbc"))
    assert log.duration == pytest.approx(45.0, abs=0.5)
    assert way(log) == pytest.approx(264.0, abs=1.0)
    assert log.channels["speed"].value.max() == pytest.approx(14.6, abs=0.05)
    assert 1.0 / np.median(np.diff(log.channels["sensor_acceleration_x"].time)) == pytest.approx(100.0, abs=2.0)
    assert 1.0 / np.median(np.diff(log.channels["latitude"].time)) == pytest.approx(1.0, abs=0.05)
    assert np.median(log.channels["sensor_acceleration_x"].value) == pytest.approx(9.6, abs=0.2)  # lies on its side
    assert log.start.date() == datetime(2021, 7, 26, tzinfo=UTC).date()


def test_raw_frames_without_their_description_are_asked_for():
    with pytest.raises(NeedsDbcError):
        read_log(recorded("mdf4_can", "drive.mf4"))


def test_a_receiver_that_starts_without_a_fix_and_whose_clock_is_set_back():
    log = read_log(recorded("nmea", "a.log"))
    assert log.channels["speed"].value.max() == pytest.approx(16.6, abs=0.05)
    assert {"no-fix", "clock-back"} <= codes(log)
    back = next(finding for finding in log.findings if finding.code == "clock-back")
    assert "3122.5" in back.message  # 52 minutes
    assert back.where == "line 111"
    assert log.start.date() == datetime(2009, 12, 9, tzinfo=UTC).date()


def test_a_receiver_that_stands():
    log = read_log(recorded("nmea", "b_parked.log"))
    assert log.duration == pytest.approx(30.0, abs=0.2)
    assert 1.0 / np.median(np.diff(log.channels["latitude"].time)) == pytest.approx(5.0, abs=0.01)
    east, north = metres(log.channels["longitude"].value, log.channels["latitude"].value)
    assert sorted([east.std(), north.std()], reverse=True) == pytest.approx([0.12, 0.05], abs=0.015)  # one digit


def test_a_receiver_with_corrections_and_two_talkers_one_after_the_other():
    log = read_log(recorded("nmea", "c_rtk.log"))
    assert log.duration == pytest.approx(641.9, abs=0.05)
    assert sorted(set(log.channels["fix_quality"].value)) == [2.0, 4.0]
    assert log.channels["latitude"].value.size == 122  # 50 of GN, then 72 of GP
    assert np.median(np.diff(log.channels["latitude"].time)) == pytest.approx(0.1, abs=1e-6)


def test_the_same_epoch_from_two_talkers_counts_once():
    log = read_log(recorded("nmea", "d.log"))
    assert log.channels["latitude"].value.size == 10
    assert "epoch-doubled" in codes(log)


def test_a_track_with_holes():
    log = read_log(recorded("gpx", "car_with_holes.gpx"))
    assert log.channels["latitude"].value.size == 104
    assert log.duration == pytest.approx(514.0)
    assert way(log) == pytest.approx(2730.0, rel=0.005)  # measured on a sphere
    places = log.channels["longitude"].value, log.channels["latitude"].value
    assert way(log) == pytest.approx(Geod(ellps="WGS84").line_length(*places), abs=0.2)
    steps = np.diff(log.channels["latitude"].time)
    assert (steps.min(), steps.max()) == (1.0, 49.0)


@pytest.mark.parametrize(
    ("name", "n_points", "duration"),
    [
        ("track-with-empty-segment.gpx", 9, 76.0),
        ("track-with-less-sec-time.gpx", 2, 0.994),
        ("track_with_speed.gpx", 3, 13.0),
    ],
)
def test_cases_of_the_format(name, n_points, duration):
    log = read_log(recorded("gpx", name))
    assert log.channels["latitude"].value.size == n_points
    assert log.duration == pytest.approx(duration, abs=1e-6)
    assert name != "track_with_speed.gpx" or list(log.channels["speed"].value) == [1.2, 2.2, 3.2]


def test_only_the_points_with_times_are_a_recording():
    log = read_log(recorded("gpx", "without-times.gpx"))
    assert log.channels["latitude"].value.size == 5
    assert "time-missing" in codes(log)


@pytest.mark.parametrize("name", ["gpx1.0_with_all_fields.gpx", "gpx1.1_with_all_fields.gpx", "unicode_with_bom.gpx"])
def test_points_without_times_are_no_recording(name):
    with pytest.raises(NotATrackError):
        read_log(recorded("gpx", name))


def test_one_ride_in_two_formats_is_one_ride():
    fit, gpx = read_log(recorded("same_ride", "ride.fit")), read_log(recorded("same_ride", "ride.gpx"))
    assert fit.channels["latitude"].value.size == gpx.channels["latitude"].value.size == 96
    assert fit.start == gpx.start
    assert fit.duration == gpx.duration == 126.0
    assert fit.channels["latitude"].value == pytest.approx(gpx.channels["latitude"].value, abs=1e-7)
    assert way(gpx) == pytest.approx(899.0, rel=0.005)  # measured on a sphere
    lengths = [end - start for start, end in fit.marks]
    paused = 19.45  # in the fourth piece the stop-watch stood (17.65 s on it), the day went on
    assert lengths == pytest.approx([25.525, 14.75, 12.225, 17.65 + paused, 23.55], abs=1e-9)


def test_markup_of_another_kind_is_no_recording():
    with pytest.raises(NotALogError, match="markup other than GPX"):
        read_log(recorded("same_ride", "ride.tcx"))


@pytest.mark.parametrize(
    "parts", [("car_gps_imu_csv", "drive.csv"), ("nmea", "a.log"), ("same_ride", "ride.fit")], ids=str
)
def test_a_recording_is_only_read(parts):
    path = recorded(*parts)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    read_log(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


MEASURED = """
import re, sys, time
import numpy, polars  # their loading is not what is measured
from pathlib import Path
from conewise.logs.readers import read_log
started = time.process_time()
log = read_log(Path(sys.argv[1]))
seconds = time.process_time() - started
peak = re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())  # of this program alone
print(seconds, int(peak[1]) / 1024, len(log.channels))
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak of memory is asked from Linux")
def test_ten_minutes_at_100_hz_with_40_columns_load_in_a_second_and_300_mb(tmp_path, rng):
    n = 60_000
    time = np.arange(n) / 100.0
    named = {
        "Time (s)": time, "Latitude (deg)": 48.1 + np.cumsum(np.cos(time / 20.0)) * 1e-6,
        "Longitude (deg)": 11.5 + np.cumsum(np.sin(time / 20.0)) * 1e-6,
        "Speed (km/h)": 40.0 + 10.0 * np.sin(time / 20.0),
    }  # fmt: skip
    named |= {f"Accel {axis} (m/s2)": rng.normal(9.8 * (axis == "Z"), 3.0, n) for axis in "XYZ"}
    named |= {f"Gyro {axis} (deg/s)": rng.normal(0.0, 20.0, n) for axis in "XYZ"}
    named |= {f"Oil temperature {number} (C)": rng.normal(90.0, 3.0, n) for number in range(40 - len(named))}
    path = tmp_path / "long.csv"
    np.savetxt(
        path, np.column_stack(list(named.values())), fmt="%.8g", delimiter=",", header=",".join(named), comments=""
    )
    done = subprocess.run([sys.executable, "-c", MEASURED, str(path)], capture_output=True, text=True, check=True)
    seconds, peak, n_channels = map(float, done.stdout.split())
    assert n_channels == 9
    assert peak < 300.0  # [MB]
    assert seconds < 2.0  # of processor time, on a machine that others use; 0.6 s by the clock on an idle one
