"""`read_log`: the format is told by what a file holds; anything may come in, only errors that explain come out."""

from __future__ import annotations

import os
import struct
import time
import zlib

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from conewise.errors import InputError, on_command_line
from conewise.logs.fit import NotAnActivityError
from conewise.logs.gpx_track import NotATrackError
from conewise.logs.mapping import UnclearColumnsError, UnknownColumnError, remember, remembered
from conewise.logs.readers import LogMissingError, NotALogError, read_log, table_of
from tests.recorded import recorded

TABLE = "Time (s),Latitude (deg),Longitude (deg),Speed (m/s)\n" + "".join(
    f"{n / 10:.1f},{48.1 + n * 1e-5:.6f},{11.5 + n * 1e-5:.6f},{11.0 + n % 7 * 0.1:.1f}\n" for n in range(60)
)
POINT = '<trkpt lat="{}" lon="11.5"><time>2024-05-17T10:15:{:02d}Z</time></trkpt>'
GPX = (
    '<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    + "".join(POINT.format(48.1 + n * 1e-4, n) for n in range(20))
    + "</trkseg></trk></gpx>"
)


@pytest.fixture
def written(tmp_path):
    def write(content, name="log.bin"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.mark.parametrize("name", ["a.csv", "a.gpx", "a.fit", "a", "a.txt"])
@pytest.mark.parametrize("content", [TABLE, GPX, TABLE.encode("utf-16"), GPX.encode("utf-16")], ids=range(4))
def test_the_name_of_a_file_says_nothing(written, name, content):
    log = read_log(written(content, name))
    assert log.channels["latitude"].value.size >= 20


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b"\x00" * 4000, "is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(range(256)), "a picture"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(range(256)), "a picture"),
        (b"PK\x03\x04" + zlib.compress(b"x" * 999), "an archive"),
        (b"<html><body>no</body></html>", "markup"),
        (b'{"time": [1, 2, 3]}', "JSON"),
    ],
)
def test_what_is_no_recording_is_said_to_be_none(written, content, why):
    with pytest.raises(NotALogError, match=why):
        read_log(written(content))


def test_a_file_that_is_not_there(tmp_path):
    (tmp_path / "run7.csv").touch()
    with pytest.raises(LogMissingError) as caught:
        read_log(tmp_path / "run8.csv")
    assert "run7.csv" in caught.value.hint


def test_a_folder_is_called_one(tmp_path):
    (tmp_path / "run7.csv").touch()
    with pytest.raises(LogMissingError, match="is a folder; a log in it is wanted") as caught:
        read_log(tmp_path)
    assert "run7.csv" in caught.value.hint


def test_a_file_that_is_too_large_is_not_loaded(written):
    path = written(GPX)
    with path.open("ab") as file:
        os.truncate(file.fileno(), 70_000_000)
    with pytest.raises(NotALogError, match="more than 60 MB"):
        read_log(path)


def test_entities_are_refused(written):
    bomb = GPX.replace('<?xml version="1.0"?>', '<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>')
    with pytest.raises(NotATrackError, match="entities"):
        read_log(written(bomb))


def test_a_track_that_is_cut_off_is_read_up_to_the_cut(written):
    log = read_log(written(GPX[: GPX.index("10:15:15Z")]))
    assert log.channels["latitude"].value.size == 15
    assert "truncated" in {finding.code for finding in log.findings}


def test_a_columns_meaning_can_be_said(written):
    path = written("a,b,c\n" + "".join(f"{n},{n % 7 * 2.5},{n % 3}\n" for n in range(50)))
    with pytest.raises(UnclearColumnsError) as caught:
        read_log(path)
    assert "--map 'a=time" in on_command_line(caught.value.hint)
    assert "--" not in caught.value.hint
    log = read_log(path, mapping={"a": "time:s", "b": "speed:km/h", "c": "ignore"})
    assert log.channels["speed"].value[1] == pytest.approx(2.5 / 3.6)
    assert list(log.channels) == ["speed"]
    turned = read_log(path, mapping={"a": "time:s", "b": "lateral_acceleration:-g"})
    assert turned.channels["lateral_acceleration"].value[1] == pytest.approx(-2.5 * 9.80665)
    with pytest.raises(UnknownColumnError):
        read_log(path, mapping={"d": "speed"})


def test_what_was_answered_is_known_for_the_next_file_with_the_same_header(written, tmp_path):
    path = written("a,b\n" + "".join(f"{n},{n % 7 * 2.5}\n" for n in range(50)))
    memory = tmp_path / "answers"
    answers = {"a": "time:s", "b": "speed:m/s"}
    remember(memory, table_of(path), answers)
    assert remembered(memory, table_of(path)) == answers
    other = written("a,b\n" + "".join(f"{n / 2},{n % 5}\n" for n in range(90)), "other.csv")
    assert read_log(other, memory=memory).duration == pytest.approx(44.5)
    with pytest.raises(UnclearColumnsError):
        read_log(written("a,c\n" + "".join(f"{n / 2},{n % 5}\n" for n in range(90))), memory=memory)


def test_the_unit_of_a_speed_is_found_by_the_way_between_the_places(written):
    rows = "".join(f"{n / 10:.1f},{48.1 + n * 1.5e-5:.7f},11.5000000,{60.05 + n % 2 * 0.1:.2f}\n" for n in range(200))
    log = read_log(written("Time (s),Latitude,Longitude,Speed\n" + rows))  # 1.5e-5 deg are 1.668 m: 60.1 km/h
    assert log.channels["speed"].value.mean() == pytest.approx(16.68, rel=0.005)


def test_a_speed_without_a_unit_and_without_places_is_asked_for(written):
    rows = "".join(f"{n / 10:.1f},{40 + n % 9}\n" for n in range(200))
    with pytest.raises(UnclearColumnsError) as caught:
        read_log(written("Time (s),Speed\n" + rows))
    assert [question.column for question in caught.value.questions] == ["Speed"]


def test_wheel_speeds_are_one_channel(written):
    rows = "".join(f"{n / 10:.1f},{10 + n % 5},{12 + n % 5}\n" for n in range(100))
    log = read_log(written("Time (s),Wheel Speed FL (m/s),Wheel Speed FR (m/s)\n" + rows))
    assert log.channels["wheel_speed"].value[:2] == pytest.approx([11.0, 12.0])
    assert log.channels["wheel_speed"].source == "Wheel Speed FL, Wheel Speed FR"


def test_of_two_columns_of_one_kind_one_is_used_and_said(written):
    rows = "".join(f"{n / 10:.1f},{10 + n % 5},{10 + n % 50 * 0.1:.1f}\n" for n in range(100))
    log = read_log(written("Time (s),Vehicle Speed (m/s),GPS Speed (m/s)\n" + rows))
    assert log.channels["speed"].source == "GPS Speed"
    assert [finding.code for finding in log.findings] == ["column-twice"]


def test_what_is_said_goes_before_what_is_found(written):
    rows = "".join(f"{n / 100:.2f},{n / 10:.1f},{10 + n % 5},{10 + n % 50 * 0.1:.1f}\n" for n in range(100))
    path = written("Time (s),Lap Clock (s),Vehicle Speed (m/s),GPS Speed (m/s)\n" + rows)
    log = read_log(path, mapping={"Lap Clock": "time:s", "Vehicle Speed": "speed:m/s"})
    assert log.duration == pytest.approx(9.9)
    assert log.channels["speed"].source == "Vehicle Speed"


def test_a_clock_with_its_date_in_another_column(written):
    rows = "".join(f"17.05.2024;23:59:{50 + n / 2:04.1f};{n}\n" for n in range(20))
    rows += "".join(f"18.05.2024;00:00:{n / 2:04.1f};{n}\n" for n in range(20))
    log = read_log(written("Date;Time;Speed (km/h)\n" + rows))
    assert log.start.isoformat() == "2024-05-17T23:59:50+00:00"
    assert log.duration == pytest.approx(19.5)


@pytest.mark.parametrize(
    ("digits", "said", "start"),
    [
        ("20240517", "date", "2024-05-17T10:15:30+00:00"),
        ("17052024", "date", "2024-05-17T10:15:30+00:00"),
        ("170524", "date:ddmmyy", "2024-05-17T10:15:30+00:00"),
        ("170524", "date:yymmdd", "2017-05-24T10:15:30+00:00"),
    ],
)
def test_a_date_in_digits_is_known_where_it_can_be_read_one_way(written, digits, said, start):
    rows = "".join(f"{digits},{101530 + n}.00,{10 + n % 5}\n" for n in range(20))
    log = read_log(written("Date,Time,Speed (m/s)\n" + rows), mapping={"Time": "time:hhmmss", "Date": said})
    assert log.start.isoformat() == start


def test_a_date_in_digits_that_can_be_read_two_ways_is_no_date(written):
    rows = "".join(f"170524,{101530 + n}.00,{10 + n % 5}\n" for n in range(20))
    assert read_log(written("Date,Time,Speed (m/s)\n" + rows), mapping={"Time": "time:hhmmss"}).start is None


def test_speed_and_course_stand_below_the_extensions_of_a_point(written):
    more = "<extensions><speed>7.5</speed><e:course xmlns:e='e'>90</e:course><speed2>x</speed2></extensions></trkpt>"
    log = read_log(written(GPX.replace("</trkpt>", more)))
    assert log.channels["speed"].value == pytest.approx([7.5] * 20)
    assert log.channels["course"].value == pytest.approx([np.pi / 2] * 20)


def test_an_activity_that_is_cut_off_is_read_up_to_the_cut(written):
    whole = recorded("same_ride", "ride.fit").read_bytes()
    log = read_log(written(whole[: len(whole) // 2]))
    assert 10 < log.channels["latitude"].value.size < 96
    assert {"truncated", "fit-damaged"} & {finding.code for finding in log.findings}
    with pytest.raises(NotAnActivityError):
        read_log(written(whole[:400]))


def test_local_metres_are_a_place(written):
    rows = "".join(f"{n / 10:.1f};{n * 1.2:.2f};{-n * 0.5:.2f}\n" for n in range(50)).replace(".", ",")
    log = read_log(written("Time (s);Local X (m);Local Y (m)\n" + rows))
    assert log.channels["x"].value[10] == pytest.approx(12.0)
    assert log.channels["y"].value[10] == pytest.approx(-5.0)


def usable(log):
    """Whether a log keeps what it promises: times that never fall, no value that is none, no empty channel."""
    return all(
        c.time.size == c.value.size > 0
        and np.isfinite(c.value).all()
        and np.isfinite(c.time).all()
        and (np.diff(c.time) >= 0).all()
        for c in log.channels.values()
    )


def read_or_refused(path, **said):
    """A log that keeps its promises, or an error that explains; in a second."""
    started = time.process_time()
    refusal, log = None, None
    try:
        log = read_log(path, **said)
    except InputError as error:
        refusal = error
    assert usable(log) if refusal is None else refusal.message and refusal.hint
    assert time.process_time() - started < 5.0  # no hang; a second is usual on a machine that does something else too


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80)
@given(content=st.binary(max_size=400))
@example(b"$GPRMC,")
@example(b"MDF     4.11    " + b"\x00" * 200)
@example(b"\x0e\x10\xd9\x07\xff\xff\xff\x7f.FIT")
@example(b"<gpx")
@example(b'a,b\n"1,2\n3,4\n5,6\n7,8\n')
def test_any_bytes_are_read_or_refused(written, content):
    read_or_refused(written(content))


NUMBER = st.floats(-1e12, 1e12).map(lambda value: f"{value:.6g}") | st.sampled_from(
    ["", "nan", "-", "1e999", "-9e307", "5e-324", "0", '"']
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80)
@given(
    rows=st.lists(st.lists(NUMBER, min_size=1, max_size=5), min_size=1, max_size=30),
    delimiter=st.sampled_from(",;\t| "),
    header=st.sampled_from(["", "time,lat,lon,speed,x", "t;v\ns;m/s", "# 2024-13-45 99:99:99\ntime|speed"]),
)
def test_any_table_is_read_or_refused(written, rows, delimiter, header):
    text = "\n".join([header, *(delimiter.join(row) for row in rows)])
    read_or_refused(written(text), mapping={})


DAMAGED = [
    ("car_gps_imu_csv", "drive.csv"), ("nmea", "a.log"), ("nmea", "d.log"), ("gpx", "track-with-empty-segment.gpx"),
    ("same_ride", "ride.gpx"), ("same_ride", "ride.fit"),
]  # fmt: skip


def damaged(content, rng):
    """A file with some of its bytes changed, lost, doubled, or cut off."""
    content = bytearray(content)
    for _ in range(int(rng.choice([1, 2, 5, 30]))):
        at = int(rng.integers(len(content)))
        way = int(rng.integers(6))
        if way == 0:
            content[at] = int(rng.integers(256))
        elif way == 1:
            del content[at : at + int(rng.choice([1, 7, 900]))]
        elif way == 2:
            start = int(rng.integers(len(content)))
            content[at:at] = content[start : start + int(rng.choice([1, 9, 500]))]
        elif way == 3:
            content[at : at + 8] = rng.choice([b"\xff" * 8, b"\x00" * 8, b"\xff" * 7 + b"\x7f"])
        elif way == 4:
            content[at : at + 1] = rng.choice([b"\n", b",", b'"', b"-", b"1e308", b"nan", b"<", b"$GPRMC,"])
        elif rng.random() < 0.3:
            del content[at:]
        if not content:
            return b"\n"
    return bytes(content)


@pytest.mark.parametrize("parts", DAMAGED, ids=lambda parts: parts[-1])
def test_damaged_recordings_are_read_or_refused(written, rng, parts):
    whole = recorded(*parts).read_bytes()[:60_000]
    is_table = parts[-1].endswith(".csv")
    head = whole[: whole.index(b"\n")] if is_table else b""
    for _ in range(25):
        content = head + damaged(whole[len(head) :], rng)
        read_or_refused(written(content), mapping={"speed": "speed:km/h"} if is_table else {})


@pytest.mark.parametrize("spoilt", ["cut", "circle", "bytes"])
def test_damaged_blocks_are_refused_or_read(written, rng, spoilt):
    whole = bytearray(recorded("mdf4_can", "drive.mf4").read_bytes())
    dbc = recorded("mdf4_can", "gps_imu.dbc")
    if spoilt == "cut":
        whole = whole[:90_000]
    elif spoilt == "circle":
        (first_group,) = struct.unpack_from("<Q", whole, 64 + 24)
        struct.pack_into("<Q", whole, first_group + 24, first_group)  # the next group is the group itself
    else:
        for at in rng.integers(64, 4000, size=6):
            whole[int(at)] = int(rng.integers(256))
    read_or_refused(written(bytes(whole)), dbc=dbc)
