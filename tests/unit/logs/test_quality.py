"""Damage planted into a drive of known motion: it is found, placed, and what is usable comes back."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from conewise.logs.log import Channel, Log
from conewise.logs.places import metres
from conewise.logs.quality import review
from conewise.logs.readers import read_log

RATE = 10.0
TIME = np.arange(900) / RATE
RADIUS, SPEED = 40.0, 14.0  # a car that circles


def drive(**changed):
    """The recording of the circle, with channels changed."""
    turn = SPEED / RADIUS * TIME
    values = {
        "latitude": 48.1 + RADIUS * np.sin(turn) / 111200.0,
        "longitude": 11.5 + RADIUS * (1.0 - np.cos(turn)) / (111320.0 * np.cos(np.radians(48.1))),
        "speed": np.full(TIME.size, SPEED),
        "course": turn % (2.0 * np.pi),
        "sensor_acceleration_x": 0.3 * np.sin(TIME),
        "hdop": 0.9 + 0.1 * np.sin(TIME / 5.0),
    } | changed
    return Log("a.csv", {kind: Channel(kind, TIME, value, kind) for kind, value in values.items()})


def codes(log):
    return [finding.code for finding in log.findings]


def where(log, code):
    return next(finding.where for finding in log.findings if finding.code == code)


def edited(kind, rows, value):
    values = drive().channels[kind].value.copy()
    values[rows] = value
    return drive(**{kind: values})


def test_a_good_recording_is_left_alone():
    log = review(drive())
    assert codes(log) == []
    assert all(log.channels[kind] == channel for kind, channel in log.channels.items())


def test_reviewing_twice_finds_nothing_new():
    once = review(edited("latitude", slice(100, 102), 49.0))
    assert codes(review(once)) == codes(once)


@pytest.mark.parametrize(
    ("kind", "value", "code"),
    [
        ("sensor_acceleration_x", -999.0, "sentinel"),
        ("sensor_acceleration_x", 32.767, "sentinel"),
        ("speed", 18204.2, "sentinel"),
        ("hdop", 99.99, "sentinel"),
        ("latitude", 214.7483647, "sentinel"),
    ],
)
def test_values_that_stand_for_none_are_left_out(kind, value, code):
    log = review(edited(kind, [50, 51, 52, 400], value))
    assert code in codes(log)
    assert "at 5.00 s" in where(log, code)
    assert log.channels[kind].value.size == TIME.size - 4


def test_a_single_value_that_cannot_be_is_left_out():
    log = review(edited("speed", 70, 400.0))
    assert codes(log) == ["out-of-range"]
    assert where(log, "out-of-range") == "speed, at 7.00 s"
    assert log.channels["speed"].value.max() == SPEED


def test_an_empty_channel_is_said_and_gone():
    log = drive()
    log = review(replace(log, channels={**log.channels, "hdop": Channel("hdop", np.zeros(0), np.zeros(0), "HDOP")}))
    assert codes(log) == ["channel-empty"]
    assert "hdop" not in log.channels


def test_a_recording_without_place_and_speed_says_stop():
    log = drive()
    log = review(replace(log, channels={"hdop": log.channels["hdop"]}))
    assert [(finding.severity, finding.code) for finding in log.findings] == [("stop", "nothing-usable")]


def with_places(rows, latitude, longitude):
    base = drive().channels
    first, second = base["latitude"].value.copy(), base["longitude"].value.copy()
    first[rows], second[rows] = latitude, longitude
    return drive(latitude=first, longitude=second)


def error_of(log):
    """Largest distance of the places of a reviewed log from the true ones. [m]"""
    true = drive().channels
    time = log.channels["latitude"].time
    east, north = metres(log.channels["longitude"].value, log.channels["latitude"].value)
    rows = np.rint(time * RATE).astype(int)
    x, y = metres(true["longitude"].value[rows], true["latitude"].value[rows])
    return np.hypot(east - x, north - y).max()


@pytest.mark.parametrize("rows", [slice(0, 1), slice(0, 12), slice(300, 303)], ids=["first", "first twelve", "between"])
def test_zero_fixes_are_left_out(rows):
    log = review(with_places(rows, 0.0, 0.0))
    assert codes(log) == ["zero-fix"]
    assert where(log, "zero-fix") == f"at {rows.start / RATE:.2f} s"
    assert error_of(log) < 1e-6


@pytest.mark.parametrize("rows", [slice(200, 201), slice(200, 204)], ids=["one", "four"])
@pytest.mark.parametrize("size", [60.0, 5000.0])
def test_a_jump_and_back_is_left_out(rows, size):
    base = drive().channels["latitude"].value
    log = review(with_places(rows, base[rows] + size / 111200.0, drive().channels["longitude"].value[rows]))
    assert codes(log) == ["position-jump"]
    assert where(log, "position-jump") == "at 20.00 s"
    assert error_of(log) < 1e-6


def test_a_way_that_goes_on_elsewhere_is_said():
    base = drive().channels["latitude"].value
    log = review(with_places(slice(450, 900), base[450:] + 0.01, drive().channels["longitude"].value[450:]))
    assert codes(log) == ["position-break"]
    assert where(log, "position-break") == "at 45.00 s"
    assert log.channels["latitude"].value.size == TIME.size


def test_a_frozen_place_is_left_out():
    base = drive().channels
    log = review(with_places(slice(300, 340), base["latitude"].value[300], base["longitude"].value[300]))
    assert codes(log) == ["position-frozen"]
    assert where(log, "position-frozen") == "at 30.00 s"
    assert error_of(log) < 1e-6


def test_a_car_that_stands_is_not_frozen():
    stop = np.concatenate([np.linspace(SPEED, 0.0, 60), np.zeros(60), np.linspace(0.0, SPEED, 60)])
    speed = np.concatenate([np.full(360, SPEED), stop, np.full(360, SPEED)])
    way = np.cumsum(speed) / RATE
    places = {"latitude": 48.1 + way / 111200.0, "longitude": np.full(TIME.size, 11.5), "course": np.zeros(TIME.size)}
    assert codes(review(drive(speed=speed, **places))) == []


def test_part_of_a_recording_in_the_other_hemisphere_is_mirrored_back():
    base = drive().channels
    log = review(with_places(slice(500, 600), base["latitude"].value[500:600], -base["longitude"].value[500:600]))
    assert codes(log) == ["hemisphere"]
    assert error_of(log) < 1e-6


@pytest.mark.parametrize("axis", ["latitude", "longitude"])
def test_a_whole_recording_in_the_other_hemisphere_is_told_by_its_course(axis):
    log = review(drive(**{axis: -drive().channels[axis].value}))
    assert codes(log) == ["hemisphere"]
    assert where(log, "hemisphere") == axis
    assert error_of(log) < 0.1  # the metres per degree are those of the same latitude


def test_a_hole_in_a_bend_is_no_other_hemisphere(tmp_path):
    """Eight seconds without a row, across which the course at its middle points the other way."""
    text = (files("conewise.demo") / "logs" / "harbour-yard-evening.csv").read_text(encoding="utf-8")
    head, rows = text.splitlines()[:2], text.splitlines()[2:]
    kept = [row for row in rows if not 25.0 < float(row.split(",", 1)[0]) < 33.0]
    file = tmp_path / "hole.csv"
    file.write_text("\n".join([*head, *kept]), encoding="utf-8")
    log = read_log(file)
    assert "hemisphere" not in codes(log)
    assert np.all(log.channels["latitude"].value < 0.0)


@pytest.mark.parametrize("factor", [3.6, 1.0 / 3.6, 2.236936, 1.943844, 1.609344], ids="{:.3f}".format)
def test_a_speed_in_another_unit_is_put_right(factor):
    log = review(drive(speed=np.full(TIME.size, SPEED * factor)))
    assert codes(log) == ["speed-unit"]
    assert log.channels["speed"].value == pytest.approx(np.full(TIME.size, SPEED), rel=1e-6)  # factors of 7 digits


def test_a_speed_that_no_mix_up_explains_is_said():
    log = review(drive(speed=np.full(TIME.size, 1.35 * SPEED)))
    assert codes(log) == ["speed-scale"]
    assert log.channels["speed"].value == pytest.approx(np.full(TIME.size, 1.35 * SPEED))


def test_places_that_have_nothing_to_do_with_the_speed_put_nothing_right():
    creeping = 48.1 + (np.arange(TIME.size) % 90) * 0.02 / 111200.0  # 0.2 m/s, thrown back every nine seconds
    log = review(drive(latitude=creeping, longitude=np.full(TIME.size, 11.5), course=np.zeros(TIME.size)))
    assert "speed-unit" not in codes(log)
    assert log.channels["speed"].value == pytest.approx(np.full(TIME.size, SPEED))


def test_metres_agree_with_the_radii_of_the_ellipsoid():
    # metres per degree at 45 deg: 111131.777 north, 78846.835 east (meridian and normal radius of WGS84)
    east, north = metres(np.array([11.0, 11.001]), np.array([45.0, 45.001]))
    assert (east[1], north[1]) == (pytest.approx(78.846835, rel=1e-6), pytest.approx(111.131777, rel=1e-6))
