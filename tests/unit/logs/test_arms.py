"""Antenna and sensor away from the centre of gravity: what that does, and that it is undone where they are told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.logs.arms import Turning, accelerations_off
from conewise.logs.fusion import _unknown_arm, fuse
from conewise.logs.log import Arms
from conewise.logs.mapping import MappingFileError, read_arms, read_mapping
from conewise.logs.simulated import SensorNoise, simulated_log
from conewise.workflows.logs import LogOptions, open_log
from tests.known_motions import GRAVITY, QUIET, errors, told, weaving

ANTENNA, SENSOR = (0.8, -0.4), (1.2, 0.5)
ARMS = Arms(antenna=ANTENNA, sensor=SENSOR)
GOOD = replace(QUIET, white_position=0.02, received_speed=0.03, acceleration=0.02, rate=1e-3)


def tracks(noise, *arms, sensor=SENSOR):
    """The same recording, fused with different places told."""
    apart = replace(noise, antenna=ANTENNA, sensor=sensor)
    log = simulated_log(weaving(), rng=np.random.default_rng(5), noise=apart)
    return [fuse(replace(log, arms=each), model=told(noise)) for each in arms]


def moving_rms(track, quantity, *, above=2.0):
    known = weaving()
    moving = np.interp(track.time, known.time, known.speed) > above
    return float(np.sqrt(np.mean(errors(known, track)[quantity][moving] ** 2)))


def horizontal(track):
    return float(np.hypot(moving_rms(track, "x"), moving_rms(track, "y")))


def test_what_turning_does_at_an_arm_is_that_of_a_rigid_body():
    """On a circle of 10 m at 5 m/s, 1 m further out: 2.5 m/s2 grows by r^2 a metre, 0.25 (a textbook's v^2 / R)."""
    steady = Turning(np.array([0.5]), np.array([0.0]))
    along, across = accelerations_off((0.0, -1.0), steady)
    assert along == pytest.approx(0.0)
    assert across == pytest.approx(5.5**2 / 11.0 - 5.0**2 / 10.0)


def test_a_good_recording_with_its_arms_gives_back_the_motion():
    (track,) = tracks(GOOD, ARMS)
    assert horizontal(track) < 0.05
    assert moving_rms(track, "speed") < 0.06
    assert np.degrees(moving_rms(track, "heading")) < 0.1
    assert moving_rms(track, "lateral_acceleration") < 0.005 * GRAVITY


def test_without_them_the_track_is_that_of_the_antenna():
    (track,) = tracks(GOOD, Arms(), sensor=ANTENNA)
    assert horizontal(track) == pytest.approx(np.hypot(*ANTENNA), abs=0.05)
    assert moving_rms(track, "speed") > 0.1
    finding = next(finding for finding in track.findings if finding.code == "arm-unknown")
    assert "0.5 m" in finding.message


@pytest.mark.parametrize("waits", [0, 20_000])
def test_what_an_unknown_arm_does_is_that_of_driving_however_long_the_car_stood(waits):
    """By hand: 0.5 m at a steady 0.7 rad/s is 0.35 m/s, 1.26 km/h, and 0.5 * 0.49 / 9.80665 = 0.025 g."""
    rate, forward = np.full(2000, 0.7), np.full(2000, 12.0)
    told = _unknown_arm(*(np.concatenate([np.zeros(waits), part]) for part in (rate, forward))).message
    assert "1.26 km/h" in told
    assert "0.025 g" in told


def test_a_phone_is_better_for_them():
    apart, at_one_place, nowhere = tracks(SensorNoise(slow_position=0.05), ARMS, Arms(antenna=ANTENNA), Arms())
    assert horizontal(apart) < 0.15 < horizontal(nowhere)
    quantity = "lateral_acceleration"
    assert moving_rms(apart, quantity) < moving_rms(at_one_place, quantity)
    assert moving_rms(apart, quantity) < 0.03 * GRAVITY
    assert not any(finding.code == "arm-unknown" for finding in apart.findings)


def test_the_cars_own_channels_are_those_of_its_centre_of_gravity():
    noise = replace(QUIET, inertial_rate=0.0, vehicle_rate=100.0, wheel_speed=1e-3, wheel_scale=0.0)
    with_arm, without = tracks(noise, Arms(antenna=ANTENNA), Arms())
    assert horizontal(with_arm) < 0.05
    assert moving_rms(with_arm, "lateral_acceleration") < moving_rms(without, "lateral_acceleration")


def test_deviations_of_places_know_the_heading_that_turns_the_arm():
    noise = SensorNoise(slow_position=0.01, white_position=0.01)
    with_arm, without = tracks(noise, Arms(antenna=ANTENNA), Arms(), sensor=ANTENNA)
    assert np.median(with_arm.position_covariance[:, 0, 0]) > np.median(without.position_covariance[:, 0, 0])


def test_a_mapping_file_tells_them(tmp_path):
    path, log = tmp_path / "car.toml", tmp_path / "run.csv"
    path.write_text("[arms]\nantenna = [0.8, -0.4]\nsensor = [1, 0]\n")
    log.write_text("time [s],speed [m/s]\n" + "".join(f"{k / 10},{k % 7}\n" for k in range(40)))
    assert read_mapping(path) == {}
    assert read_arms(path) == Arms(antenna=(0.8, -0.4), sensor=(1.0, 0.0))
    assert open_log(log, LogOptions(mapping=path)).arms == read_arms(path)


@pytest.mark.parametrize(
    "text", ["arms = 3", "[arms]\nroof = [0, 0]", "[arms]\nantenna = [0.8]", "[arms]\nantenna = [0.8, 40]",
             "[arms]\nantenna = [nan, 0.0]", "[arms]\nantenna = [true, 0.0]"]
)  # fmt: skip
def test_an_arm_that_fits_into_no_car_is_told(tmp_path, text):
    path = tmp_path / "car.toml"
    path.write_text(text)
    with pytest.raises(MappingFileError) as error:
        read_arms(path)
    assert "arms" in error.value.where
    assert "forward" in error.value.hint
