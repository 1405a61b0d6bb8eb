"""Sensors that disagree grossly with the receiver are found out and left out; honest ones stay."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.logs.doubted import Agreement, doubted
from conewise.logs.fusion import fuse
from conewise.logs.log import Channel
from conewise.logs.problem import prepare
from conewise.logs.sensor_model import SensorModel
from conewise.logs.simulated import SensorNoise, simulated_log
from tests.known_motions import GRAVITY, errors, weaving

PHONE = SensorNoise()
CAR = replace(PHONE, inertial_rate=0.0, vehicle_rate=50.0)
LEVEL = np.eye(3)
ALONG, ACROSS, RATE = "longitudinal_acceleration", "lateral_acceleration", "yaw_rate"


def recording(noise=CAR, seed=5):
    """A simulated log; one with channels of the car has a longitudinal acceleration too."""
    known = weaving()
    log = simulated_log(known, rng=np.random.default_rng(seed), noise=noise, mounting=LEVEL)
    if RATE not in log.channels:
        return log
    time = log.channels[RATE].time
    noise = 0.3 * np.random.default_rng(seed + 1).standard_normal(time.size)
    felt = np.interp(time, known.time, known.body_acceleration[:, 0]) + noise
    return replace(log, channels={**log.channels, ALONG: Channel(ALONG, time, felt, ALONG)})


def swapped(log, one, other):
    """The same log with the columns of two channels taken for each other."""
    channels = dict(log.channels)
    channels[one], channels[other] = (
        replace(log.channels[other], kind=one), replace(log.channels[one], kind=other),
    )  # fmt: skip
    return replace(log, channels=channels)


def scaled(log, kind, by):
    return replace(
        log, channels={**log.channels, kind: replace(log.channels[kind], value=by * log.channels[kind].value)}
    )


def judged(log):
    return doubted(log, prepare(log, plane=None, model=SensorModel()))


def error(track, name):
    moving = np.interp(track.time, weaving().time, weaving().speed) > 2.0
    return float(np.sqrt(np.mean(errors(weaving(), track)[name][moving] ** 2)))


@pytest.mark.parametrize("pair", [(ALONG, ACROSS), (RATE, ACROSS), (RATE, ALONG)], ids="-".join)
def test_two_swapped_columns_are_left_out_and_named(pair):
    log = swapped(recording(), *pair)
    track, alone = fuse(log), fuse(replace(log, channels={k: c for k, c in log.channels.items() if k not in pair}))
    told = [finding for finding in track.findings if finding.code == "sensor-doubted"]
    assert track.doubted == set(pair)
    assert len(told) == 1
    assert all(f"'{kind}'" in told[0].message and kind in told[0].where for kind in pair)
    assert "Check the mapping of columns" in told[0].message
    assert error(track, "speed") == pytest.approx(error(alone, "speed"))
    assert error(track, "speed") < 0.3
    assert error(track, "lateral_acceleration") < 0.1 * GRAVITY


@pytest.mark.parametrize(
    ("kind", "by", "words"),
    [
        (ACROSS, -1.0, "its sign is the other way round"),
        (RATE, 180.0 / np.pi, "times as large"),  # degrees read as radians
        ("wheel_speed", 3.6, "times as large"),  # km/h read as m/s
    ],
)
def test_a_wrong_sign_or_unit_is_said(kind, by, words):
    found = judged(scaled(recording(), kind, by))
    assert found.kinds == {kind}
    assert words in found.findings[0].message
    assert found.findings[0].where == kind


@pytest.mark.parametrize("sensor", ["acceleration", "rate"])
def test_an_inertial_sensor_with_mixed_axes_is_left_out(sensor):
    log = swapped(recording(PHONE), f"sensor_{sensor}_x", f"sensor_{sensor}_z")
    track = fuse(log)
    told = [finding for finding in track.findings if finding.code == "sensor-doubted"]
    assert len(told) == 1
    assert f"'sensor_{sensor}_x'" in told[0].message
    assert "no-inertial" not in {finding.code for finding in track.findings}
    assert error(track, "speed") < 0.3


@pytest.mark.parametrize(("seed", "axis"), [(1, "z"), (3, "z")])
def test_a_gyroscope_that_tells_a_turn_a_sixth_too_small_is_left_out(seed, axis):
    """One axis of a sensor that lies askew is mirrored: turns agree but for their size, 0.81 and 0.83 here."""
    log = simulated_log(weaving(), rng=np.random.default_rng(seed), noise=PHONE)
    kind = f"sensor_rate_{axis}"
    assert judged(log).kinds == frozenset()
    assert kind in judged(scaled(log, kind, -1.0)).kinds


def test_how_sure_a_size_is_hangs_on_how_many_means_tell_it():
    one = Agreement(correlation=0.98, ratio=0.91)
    assert one.is_too_small(0.97, count=100.0)
    assert not one.is_too_small(0.97, count=10.0)
    assert not Agreement(correlation=0.5, ratio=0.3).is_too_small(0.97, count=100.0)  # it tells nothing of a size


@pytest.mark.parametrize(
    "noise",
    [
        PHONE,
        CAR,
        replace(PHONE, receiver_rate=1.0),
        replace(CAR, receiver_rate=1.0),
        replace(PHONE, received_speed=None),
        replace(PHONE, acceleration=1.5, rate=0.03),
        replace(PHONE, delay=0.8),
        replace(CAR, wheel_slip=0.006),
    ],
)
def test_honest_sensors_stay(noise):
    for seed in range(3):
        assert not judged(recording(noise, seed=seed)).kinds


def test_a_receiver_without_speeds_is_not_believed_against_every_sensor():
    """Its positions jump about; nothing says that it is the sensors that are wrong."""
    log = recording(replace(CAR, received_speed=None))
    rng = np.random.default_rng(1)
    for axis in "xy":
        channel = log.channels[axis]
        log = replace(log, channels={**log.channels, axis: replace(channel, value=rng.permutation(channel.value))})
    assert not judged(log).kinds


def test_a_car_that_hardly_moves_tells_nothing():
    log = recording()
    short = {k: Channel(k, c.time[c.time < 9.0], c.value[c.time < 9.0], c.source) for k, c in log.channels.items()}
    assert not judged(swapped(replace(log, channels=short), ALONG, ACROSS)).kinds
