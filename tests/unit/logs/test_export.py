"""Logs out and in again: the table loses nothing, the track follows the schema of GPX 1.1."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from conewise.logs.export import LogExistsError, LogTargetError, NoTrackError, csv_text, gpx_text, write_log
from conewise.logs.log import KINDS, Channel, Log
from conewise.logs.readers import read_log
from tests.recorded import recorded

START = datetime(2024, 5, 17, 10, 15, 30, 250000, tzinfo=UTC)
NAMESPACE = "{http://www.topografix.com/GPX/1/1}"
# Children of a point in the order of the schema (gpx.xsd, wptType), and roots of a file (gpxType).
ORDER = [
    "ele",
    "time",
    "magvar",
    "geoidheight",
    "name",
    "cmt",
    "desc",
    "src",
    "link",
    "sym",
    "type",
    "fix",
    "sat",
    "hdop",
]


def every_kind(rng):
    """A log with a channel of every kind, at different rates."""
    channels = {}
    for number, (kind, entry) in enumerate(KINDS.items()):
        step = 0.01 if kind in {"latitude", "longitude", "x", "y"} else 0.01 + 0.005 * (number % 4)
        time = np.arange(40 + 7 * (number // 5)) * step
        middle, half = (48.0, 0.001) if kind == "latitude" else (11.0, 0.001) if kind == "longitude" else (2.0, 0.2)
        values = middle + half * np.cumsum(rng.normal(0.0, 0.05, time.size))
        values = np.round(values) if entry.unit == "1" else values
        channels[kind] = Channel(kind, time, np.clip(values, 0.0, min(entry.high, 60.0)), kind)
    return Log("drive.csv", channels, START)


def test_a_table_comes_back_as_it_went(tmp_path, rng):
    log = every_kind(rng)
    path = tmp_path / "out.csv"
    assert write_log(log, path, source=tmp_path / "drive.csv") == []
    back = read_log(path)
    assert set(back.channels) == set(log.channels)
    assert back.start == log.start
    for kind, channel in log.channels.items():
        assert back.channels[kind].time == pytest.approx(channel.time, abs=1e-12)
        assert back.channels[kind].value == pytest.approx(channel.value, rel=1e-12)


@pytest.mark.parametrize(
    "parts", [("car_gps_imu_csv", "drive.csv"), ("nmea", "c_rtk.log"), ("same_ride", "ride.fit")], ids=str
)
def test_a_recording_comes_back_as_it_went(tmp_path, parts):
    log = read_log(recorded(*parts))
    path = tmp_path / "out.csv"
    path.write_text(csv_text(log), encoding="utf-8")
    back = read_log(path)
    assert back.start == log.start
    for kind, channel in log.channels.items():
        assert back.channels[kind].time == pytest.approx(channel.time, abs=1e-9)
        assert back.channels[kind].value == pytest.approx(channel.value, rel=1e-12)


def test_a_track_follows_the_schema(rng):
    log = every_kind(rng)
    root = ET.fromstring(gpx_text(log))
    assert root.tag == f"{NAMESPACE}gpx"
    assert root.attrib["version"] == "1.1"
    assert root.attrib["creator"]
    assert [child.tag for child in root] == [f"{NAMESPACE}trk"]
    assert [child.tag for child in root[0]] == [f"{NAMESPACE}trkseg"]
    points = list(root[0][0])
    assert len(points) > 10
    for point in points:
        assert point.tag == f"{NAMESPACE}trkpt"
        assert -90.0 <= float(point.attrib["lat"]) <= 90.0
        assert -180.0 <= float(point.attrib["lon"]) < 180.0
        names = [child.tag.removeprefix(NAMESPACE) for child in point]
        assert names == sorted(names, key=ORDER.index)
        moment = datetime.fromisoformat(point.find(f"{NAMESPACE}time").text)
        assert moment.utcoffset() == timedelta(0)
        assert (point.find(f"{NAMESPACE}sat") is None) or int(point.find(f"{NAMESPACE}sat").text) >= 0


def test_a_track_comes_back_as_it_went(tmp_path):
    log = read_log(recorded("nmea", "c_rtk.log"))
    path = tmp_path / "out.gpx"
    left_out = write_log(log, path, source=recorded("nmea", "c_rtk.log"))
    assert left_out == ["course", "fix_quality", "speed"]
    back = read_log(path)
    assert back.start == log.start
    for kind in ("latitude", "longitude"):
        assert back.channels[kind].value == pytest.approx(log.channels[kind].value, abs=1e-9)
        assert back.channels[kind].time == pytest.approx(log.channels[kind].time, abs=1e-6)


def test_the_date_line_is_minus_180():
    time = np.array([0.0, 1.0])
    channels = {"latitude": np.array([10.0, 10.0]), "longitude": np.array([180.0, -180.0])}
    text = gpx_text(Log("a", {kind: Channel(kind, time, value, kind) for kind, value in channels.items()}, START))
    assert text.count('lon="-180.0"') == 2


def test_a_track_needs_places_and_a_date(rng):
    log = every_kind(rng)
    with pytest.raises(NoTrackError, match="date"):
        gpx_text(Log(log.file, log.channels, None))
    with pytest.raises(NoTrackError, match="latitude"):
        gpx_text(Log(log.file, {"speed": log.channels["speed"]}, START))


def test_nothing_is_written_over(tmp_path, rng):
    log = every_kind(rng)
    source, target = tmp_path / "a.csv", tmp_path / "b.csv"
    source.write_text("the recording", encoding="utf-8")
    target.write_text("something", encoding="utf-8")
    with pytest.raises(LogExistsError):
        write_log(log, target, source=source)
    assert target.read_text(encoding="utf-8") == "something"
    write_log(log, target, source=source, force=True)
    assert target.read_text(encoding="utf-8").startswith("# start 2024-05-17T10:15:30.250000+00:00\n")
    with pytest.raises(LogExistsError, match=r"a\.csv"):
        write_log(log, source, source=source, force=True)  # the recording itself stays whatever is said
    assert source.read_text(encoding="utf-8") == "the recording"


@pytest.mark.parametrize("name", ["a.xlsx", "a", "missing/a.csv"])
def test_where_it_cannot_be_written(tmp_path, rng, name):
    with pytest.raises(LogTargetError):
        write_log(every_kind(rng), tmp_path / name, source=tmp_path / "drive.csv")
